"""Lots as people and machines read them."""
