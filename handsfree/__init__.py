"""An offline, hands-free voice companion for commissioning low-energy swing doors."""

__version__ = "0.1.0"
