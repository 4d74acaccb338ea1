"""The `.kv` beside a screen, loaded once a process: a second load would add its children again."""

from importlib import resources

from kivy.lang import Builder


def load_kv(name: str) -> None:
    """Load `NAME.kv` of this package, unless it was."""
    key = f"fieldapp.ui.{name}"
    if key not in Builder.files:
        text = resources.files("fieldapp.ui").joinpath(f"{name}.kv").read_text("utf-8")
        Builder.load_string(text, filename=key)
