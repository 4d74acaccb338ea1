"""Stage 3: from bags to kg, from days to picks and rests."""
