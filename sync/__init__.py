"""Fallow at the shed: takes in the phones' records and works out the block register."""
