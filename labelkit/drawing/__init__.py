"""Pages of primitives in millimetres, text that fits, QR symbols."""
