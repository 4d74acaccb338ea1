"""The made-up block, made through the real parts."""
