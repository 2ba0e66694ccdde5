"""labelkit: from a unit profile to a printed teardown and rebuild kit, and back by a scan."""

__version__ = "0.1.0"
