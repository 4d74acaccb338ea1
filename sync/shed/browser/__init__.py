"""The pages that the owner looks at and rules on: server-made HTML that needs no script.

Rule 1: a page shows the register's document and works nothing out.
Rule 2: whatever people typed is escaped; the one thing let through is the map that we draw.
Rule 3: what changes something is a form with a token, never a link.
"""
