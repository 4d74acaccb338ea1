"""The map panel of P2: the ground around me in three scales; it writes nothing."""

import dataclasses
from typing import get_args

from fieldapp.ground import Answer
from fieldapp.phone.footer import BACK
from fieldapp.phone.ground_map import PhoneMap, Step
from fieldapp.phone.keys import Act, Done, Key, Pressed, stay
from fieldapp.phone.map_shown import MapShown
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, raw

_STEPS = get_args(Step)


@dataclasses.dataclass(frozen=True)
class MapPanelShown:
    """The band's answer, the map, the footer."""

    answer: Answer | None
    paused: bool
    map: MapShown
    footer: tuple[Key, ...]


class MapPanel:
    """The map at the scale chosen."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._map = PhoneMap(phone.outing, zone=phone.zone, walk=phone.walk)
        self._step = 1

    def shown(self) -> MapPanelShown:
        """Give what the panel shows now."""
        phone = self._phone
        shown = self._map.show(now=phone.now(), where=phone.fix(), step=_STEPS[self._step])
        closer, wider = Key("closer", raw("+")), Key("wider", raw("−"))
        return MapPanelShown(phone.answer(), phone.outing.state == "paused", shown,
                             (wider, closer, BACK))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        by = {"closer": -1, "wider": 1}.get(pressed.name, 0)
        return NOTHING, lambda: self._go(by)

    def back(self) -> Done:
        """Leave the panel."""
        return Done("B0", "work")

    def _go(self, by: int) -> Done:
        self._step = max(0, min(len(_STEPS) - 1, self._step + by))
        return stay()
