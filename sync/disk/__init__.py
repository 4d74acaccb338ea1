"""Everything the shed reads from or writes to the block folder."""
