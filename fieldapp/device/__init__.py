"""What a phone has: clock, journal, location, sheet and settings on disk."""
