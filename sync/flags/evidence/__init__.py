"""What there is to say of one flag before anybody rules: bags, ground, phones, rulings."""

from sync.flags.evidence.case import Case, case_of

__all__ = ["Case", "case_of"]
