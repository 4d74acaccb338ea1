"""Made-up blocks whose truth is known, to see what the estimates make of them."""
