"""Stage 6: what the owner should look at; one rule a function."""
