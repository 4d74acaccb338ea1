"""Fallow on a phone: records, journal, hand-over and ground sheet, on the standard library alone."""

__version__ = "0.1.0"
