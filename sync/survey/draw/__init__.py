"""Drawing units by chance, with chances that are known."""
