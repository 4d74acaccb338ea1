"""Stage 1: what the phones said, checked and merged into the records that count."""
