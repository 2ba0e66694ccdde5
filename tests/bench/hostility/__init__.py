"""What the hostile evening tries (`tests.bench.hostile`): one module for each group of what comes from outside."""
