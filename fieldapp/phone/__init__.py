"""One phone at work: its parts joined, and what each screen shows, as plain values."""
