"""Where to survey next: which cells, where in them, in which order, and what it buys."""
