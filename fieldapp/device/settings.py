"""The phone's settings: how the app looks, sounds and feels; none of it is a record.

Rule 1: a setting that cannot be read is the usual one; no setting keeps the app from starting.
"""

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from fieldapp.device.store import StoreError, keep_one, kept_one

_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "language": ("en", "es"), "light": ("bright", "dusk"), "hand": ("right", "left"),
    "rain_guard": ("auto", "on")})


@dataclasses.dataclass(frozen=True)
class PhoneSettings:
    """All settings, at first the usual ones.

    Attributes
    ----------
    language : str
        `en` or `es`.
    light : str
        `bright` (ink on paper) or `dusk`.
    hand : str
        The hand that holds the phone; `left` mirrors the footer.
    rain_guard : str
        `auto`, or `on` for long presses always.
    large_text, sound, buzz : bool
        As they say.
    """

    language: str = "en"
    light: str = "bright"
    hand: str = "right"
    rain_guard: str = "auto"
    large_text: bool = False
    sound: bool = True
    buzz: bool = True


def load_settings(path: Path) -> PhoneSettings:
    """Read the settings; what is missing or unknown there is the usual.

    Parameters
    ----------
    path : Path
        Their file; it may not exist yet.

    Returns
    -------
    PhoneSettings
        Sound.
    """
    try:
        kept = kept_one(path) or {}
    except StoreError:
        return PhoneSettings()
    usual = PhoneSettings()
    return dataclasses.replace(usual, **{
        field.name: kept[field.name] for field in dataclasses.fields(usual)
        if field.name in kept and _fits(field.name, kept[field.name])})


def save_settings(path: Path, settings: PhoneSettings) -> None:
    """Write the settings.

    Parameters
    ----------
    path : Path
        Their file; its folder exists.
    settings : PhoneSettings
        All of them.

    Raises
    ------
    ValueError
        If one has no such choice.
    """
    fields = dataclasses.asdict(settings)
    for name, value in fields.items():
        if not _fits(name, value):
            raise ValueError(f"{name}={value!r}: choose one of {_WORDS.get(name, (True, False))}")
    keep_one(path, fields)


def _fits(name: str, value: object) -> bool:
    return value in _WORDS[name] if name in _WORDS else isinstance(value, bool)
