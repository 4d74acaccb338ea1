"""Stage 4: today's crop and what may be taken of it."""
