"""Made-up outlooks of whole blocks, for benches of the plan of seasons."""
