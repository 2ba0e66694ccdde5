"""What each document shows."""
