"""What happens when a thing is noted in the field; no screen, no file, no clock of its own."""
