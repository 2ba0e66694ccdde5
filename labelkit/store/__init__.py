"""The record of jobs."""
