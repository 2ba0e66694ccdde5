"""What a profile, a stock or a job is: frozen models, nothing else."""
