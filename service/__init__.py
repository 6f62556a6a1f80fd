"""Steelyard: from a log of resistance training to the next decision for one body."""

__version__ = "0.1.0"
