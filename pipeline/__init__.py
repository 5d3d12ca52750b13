"""Wearword: from a spoken walkaround to a condition record with time codes."""

__version__ = "0.1.0"
