"""Fallow on a phone: records, journal, hand-over and ground sheet, in plain Python."""

__version__ = "0.1.0"
