"""From a touch to a press: the key that a contact lies on, and how that key looks meanwhile.

Rule 1: every contact on the glass goes through one `Press`.
Rule 2: the key that was meant is known from the touch; nothing is looked for before the record.
"""

from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp

from fieldapp.phone.keys import Pressed
from fieldapp.phone.tunables import BAG_REARM_MS, INVERT_S, REARM_MS
from fieldapp.ui.press import Box, Press, Target
from fieldapp.ui.stage import Stage


class Thumb:
    """What a thumb does on the keys of a stage.

    Parameters
    ----------
    stage : Stage
        Where the keys are.
    press : Press
        What tells a press from a drop.

    Attributes
    ----------
    touched_s : float
        When the glass was touched last, by Kivy's clock. [s]
    """

    def __init__(self, stage: Stage, press: Press) -> None:
        self._stage = stage
        self._press = press
        self.touched_s = self._opened_s = Clock.time()

    def begin(self) -> None:
        """Another screen has opened: contacts that last mean nothing on it."""
        self._press.cancel()
        self._opened_s = Clock.time()

    def down(self, touch: Any) -> None:
        """Begin a contact."""
        face = touch.ud["face"] = self._stage.face_at(*touch.pos)
        self.touched_s = Clock.time()
        self._press.down(touch.uid, touch.x / dp(1), touch.y / dp(1),
                         target=None if face is None else self._target(face),
                         now_s=self.touched_s)

    def move(self, touch: Any) -> None:
        """Move a contact."""
        self._press.move(touch.uid, touch.x / dp(1), touch.y / dp(1), now_s=Clock.time())

    def up(self, touch: Any) -> Pressed | None:
        """End a contact; the press that it was, if it was one."""
        return self._press.up(touch.uid, touch.x / dp(1), touch.y / dp(1), now_s=Clock.time())

    def let_go(self, touch: Any, *, was_pressed: bool) -> None:
        """Show keys as let go; after the act, as no look may keep a record from the disk."""
        for face in self._stage.faces():
            face.progress = 0.0
        meant = touch.ud.get("face")
        if meant is not None and was_pressed:
            meant.progress = 0.0  # another page may be up by now
            meant.pressed = True
            Clock.schedule_once(lambda _: setattr(meant, "pressed", False), INVERT_S)

    def fill(self) -> None:
        """Show how full the bar of the key is that is held."""
        held = self._press.progress(Clock.time())
        for face in self._stage.faces():
            full = held[1] if held is not None and held[0] == face.key.name else 0.0
            if face.progress != full:
                face.progress = full

    def _target(self, face: Any) -> Target:
        key = face.key
        box = Box(face.x / dp(1), face.y / dp(1), face.right / dp(1), face.top / dp(1))
        rearm_ms = BAG_REARM_MS if key.kind == "half" else REARM_MS
        return Target(key.name, box, key.kind, rearm_ms, self._opened_s + key.arms_ms / 1000.0)
