"""Double sampling: many places read cheaply, a part of them dearly; the one lends to the other."""
