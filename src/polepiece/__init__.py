"""polepiece: from a complaint about an electric guitar to a computed, audible plan."""

__version__ = "0.1.0"
