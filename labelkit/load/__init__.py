"""From YAML files to models, with every fault at its place."""
