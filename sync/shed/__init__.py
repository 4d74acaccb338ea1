"""The shed's server: phones hand over, the owner looks and rules.

Rule 1: nothing answers without pairing or the owner's sign-in, but the pages that lead to them.
Rule 2: whatever comes in is untrusted to its last byte and bounded in size, time and number.
Rule 3: the log holds routes, outcomes and durations: no names, positions, keys or codes.
"""
