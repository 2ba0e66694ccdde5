"""The bench: cards on the shop's network."""
