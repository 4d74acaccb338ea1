"""MY DATA: all that this phone holds of what one person noted, as a file for that person.

Rule 1: nothing of anybody else is in it.
Rule 2: it is of the journal in use; a record is in it as written, tracks as far as they are kept.
"""

from typing import Any

from fieldapp.phone.footer import BACK
from fieldapp.phone.keys import NO_KEY, Act, Done, Key, Pressed
from fieldapp.phone.pages import ChoiceShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import Say, count, raw, say
from fieldapp.record import canonical, own_counts, own_outings, stamp

#: Keys on the page at most.
_PEOPLE = 10


class MyData:
    """The page on which a person asks for their own."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone

    def shown(self) -> ChoiceShown:
        """Give who has noted anything on this phone, the last first."""
        phone = self._phone
        keys = tuple(Key(f"of {code}", raw(phone.call(code)))
                     for code in phone.recent_people()[:_PEOPLE])
        told = say("All that you noted, as a file") if keys else say(
            "Nobody has noted anything yet.")
        return ChoiceShown(say("WHOSE DATA?"), keys, (NO_KEY, NO_KEY, BACK), (told,))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        code = pressed.name.partition(" ")[2]
        return say("MY DATA"), lambda: self._write(code)

    def back(self) -> Done:
        """Leave the page."""
        return Done("B0", "day")

    def _write(self, person: str) -> Done:
        phone = self._phone
        told = own_data(phone, person)
        name = phone.parts.folder.write_mine(phone.install, canonical(told))
        return Done("B1", said=count(len(told["records"]), "{n} record in {file}",
                                     "{n} records in {file}", file=raw(name)))


def own_data(phone: Phone, person: str) -> dict[str, Any]:
    """Give what the journal in use holds of what a person noted.

    Parameters
    ----------
    phone : Phone
        The phone.
    person : str
        Person code, or the letter that stood for one before there was a sheet.

    Returns
    -------
    dict
        `mine` 1, whose, of which block and when; `counts`, `outings`; `records`, each with whether
        the shed is known to hold it.

    Raises
    ------
    JournalError
        If the journal cannot be read.
    """
    own = [one for one in phone.journal.records() if one["person"] == person]
    held = phone.journal.acknowledged()
    install = phone.install
    return {
        "mine": 1, "device": install.device,
        "block": {"id": install.block, "name": install.block_name},
        "person": person, "made_at": stamp(phone.now()), "program": phone.parts.program,
        "counts": {**own_counts(own), "bags": _bags(phone, person)},
        "outings": own_outings(own),
        "records": [
            {"record": one, "at_shed": any(a <= one["seq"] <= b for a, b in held)}
            for one in own],
    }


def _bags(phone: Phone, person: str) -> float:
    """Give the bags of a person that count, by whoever noted them on this phone. [bags]."""
    return float(sum(one.record["bags"] for one in phone.outing.noted.of("bag")
                     if one.whose == person))
