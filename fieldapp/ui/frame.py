"""What most pages have in common: the title on top and the footer's three keys."""

from fieldapp.ui import key_face, line
from fieldapp.ui.kv import load_kv

__all__ = ["key_face", "line"]
load_kv("frame")
