"""How a cell's figures came about, in sentences that a pocket calculator can follow."""

from sync.register.why.cell import why_cell

__all__ = ["why_cell"]
