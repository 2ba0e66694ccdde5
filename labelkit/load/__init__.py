"""From files (YAML, CSV, ZIP) to models and back, with every fault at its place."""
