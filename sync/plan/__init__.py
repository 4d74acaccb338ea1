"""What to do next: computed from the register and its flags, and kept out of both."""
