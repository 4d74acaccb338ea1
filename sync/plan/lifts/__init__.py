"""Lifts: how many bags a sling, how many slings a pile, what it costs, by air or by machine."""
