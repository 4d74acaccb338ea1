"""Lifts for people: a table, cards to tick, files for machines."""
