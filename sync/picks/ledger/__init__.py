"""The ledger of bags: from pile to lot, every bag in exactly one place."""
