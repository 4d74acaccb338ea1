"""Draw the four contact streams of this folder: `python tests/fieldapp/ui/streams/draw.py`.

Every stream is made up; none was recorded from a real screen. What is known and from where:
how a touch unfolds (it lands, slides, lifts; duration, drift, extent): Kong, Zhong, Fogarty,
Wobbrock, Quantifying Touch, ASSETS 2022 (read as a review); that raindrops, smears and wet fingers
look like fingers to a capacitive screen: Tung, Goel, Zinda, Wobbrock, RainCheck, ICMI 2018;
contact patches of 9.4 × 8.8 mm on average, to 17 × 20 mm: a vendor's touch-design note, dn672264.
All durations, distances and rates below are guesses, no source.
"""

import json
import random
from pathlib import Path

SCREEN_DP = (360, 568)
#: Keys of two screens: name, left, bottom, right, top [dp], kind, re-arm [ms].
KEYS = {
    "work": [["BAND", 16, 416, 344, 528, "quick", 400], ["BAG", 16, 96, 344, 312, "half", 700],
             ["UNDO", 12, 8, 116, 88, "slow", 400], ["MORE", 128, 8, 232, 88, "quick", 400],
             ["OK HELP", 244, 8, 348, 88, "quick", 400]],
    "help": [["I'M OK", 16, 200, 344, 416, "quick", 400], ["HELP", 16, 112, 344, 184, "hold", 400],
             ["BACK", 244, 8, 348, 80, "quick", 400]],
}
ABOUT = "made up, no recording of a real screen; drawn by draw.py, which says what is known"


def contact(what, means, trace, *, must=None, screen="work", half=False):
    """What it is, the key a hand meant by it, and [ms, dp, dp] from touch to release."""
    return {"what": what, "screen": screen, "means": means, "half": half,
            "must": means is not None if must is None else must, "trace": trace}


def slide(rng, at_ms, held_ms, start, end, *, shake=0.0, every_ms=16):
    """A way from start to end, shaken, sampled as a screen does."""
    steps = max(1, held_ms // every_ms)
    trace = []
    for step in range(steps + 1):
        part = step / steps
        shaken = shake if 0 < step < steps else 0.0
        trace.append([at_ms + round(held_ms * part)] + [
            round(a + (b - a) * part + rng.uniform(-shaken, shaken), 1)
            for a, b in zip(start, end, strict=True)])
    return trace if len(trace) <= 8 else trace[::len(trace) // 6] + trace[-1:]


def spot(rng, screen, name, inset=12):
    _, left, bottom, right, top, _, _ = next(key for key in KEYS[screen] if key[0] == name)
    return rng.uniform(left + inset, right - inset), rng.uniform(bottom + inset, top - inset)


def press(rng, what, at_ms, name, held_ms, *, drift=3.0, screen="work", half=False, inset=12):
    start = spot(rng, screen, name, inset)
    end = [at + rng.uniform(-drift, drift) / 1.5 for at in start]
    trace = slide(rng, at_ms, held_ms, start, end, shake=min(drift, 3.0) / 2)
    return contact(what, name, trace, screen=screen, half=half)


def dry(rng):
    """Thirty clean presses by a bare thumb."""
    at_ms, drawn = 1000, []
    for name in ["BAG", "BAG", "BAG", "BAG", "UNDO", "BAG", "MORE", "BAG", "HALF", "OK HELP"] * 3:
        held_ms = (rng.randint(1150, 1800) if name == "HALF" else
                   rng.randint(450, 700) if name == "UNDO" else rng.randint(90, 220))
        drawn.append(press(rng, "tap", at_ms, "BAG" if name == "HALF" else name, held_ms,
                           half=name == "HALF"))
        at_ms += held_ms + rng.randint(850, 4000)
    return drawn


def gloved(rng):
    """Heavy thumbs: long contacts that roll, and end a little beside the key at times."""
    at_ms, drawn = 1000, []
    for name in ["BAG", "BAG", "UNDO", "BAG", "HALF", "MORE", "HELP", "BAND"] * 4:
        held_ms = {"HALF": rng.randint(1200, 1900), "HELP": rng.randint(2150, 9000),
                   "UNDO": rng.randint(480, 1600)}.get(name, rng.randint(250, 950))
        drawn.append(press(rng, "glove", at_ms, "BAG" if name == "HALF" else name, held_ms,
                           drift=20, half=name == "HALF", inset=3,
                           screen="help" if name == "HELP" else "work"))
        at_ms += held_ms + rng.randint(850, 3000)
    return drawn


def smeared(rng):
    """A wet sleeve and a smeared film: drags, double contacts, rests; a firm press in between."""
    at_ms, drawn = 1000, []
    for what in ["drag", "double", "rest", "press", "brush", "echo", "drag", "press"] * 5:
        held_ms = rng.randint(150, 600)
        start = spot(rng, "work", "BAG")
        if what == "press":
            drawn.append(press(rng, "press", at_ms, "BAG", rng.randint(450, 800)))
        elif what == "drag":
            end = [start[0] + rng.choice([-1, 1]) * rng.uniform(30, 90),
                   start[1] + rng.uniform(-60, 60)]
            drawn.append(contact("drag", None, slide(rng, at_ms, held_ms, start, end, shake=2)))
        elif what == "rest":
            held_ms = rng.randint(2200, 6000)
            drawn.append(contact("rest", None, slide(rng, at_ms, held_ms, start, start, shake=4)))
        elif what == "brush":
            trace = slide(rng, at_ms, rng.randint(8, 70), start, start)
            drawn.append(contact("brush", None, trace))
        else:  # a palm beside the thumb, or a film that touches while the thumb presses
            late_ms = rng.randint(10, held_ms - 60)
            drawn.append(contact(what, None, slide(rng, at_ms, held_ms, start, start, shake=2)))
            aside = spot(rng, "work", rng.choice(["BAG", "MORE"]))
            drawn.append(contact(what, None, slide(
                rng, at_ms + late_ms, held_ms if what == "double" else 30, aside, aside)))
        at_ms += held_ms + rng.randint(1300, 3500)
    return drawn


def drop(rng, at_ms):
    start = (rng.uniform(0, SCREEN_DP[0]), rng.uniform(0, SCREEN_DP[1]))
    kind = rng.choices(["splash", "like a tap", "clings", "runs"], [66, 22, 6, 6])[0]
    low_ms, high_ms = {"splash": (8, 75), "like a tap": (85, 360), "clings": (400, 1700),
                       "runs": (300, 3000)}[kind]
    end = start
    if kind == "runs":
        end = (start[0] + rng.uniform(-10, 10), start[1] - rng.uniform(30, 200))
    trace = slide(rng, at_ms, rng.randint(low_ms, high_ms), start, end, shake=1.5)
    return contact(kind, None, trace)


def raining(rng):
    """Two minutes of rain, a drop felt every 0.8 s, and a firm press of 500 ms every 5 s."""
    drops, at_ms = [], 0.0
    while (at_ms := at_ms + rng.expovariate(1 / 800)) < 120_000:
        drops.append(drop(rng, round(at_ms)))
    presses = [press(rng, "press", at, "BAG", 500) for at in range(6000, 120_000, 5000)]
    for one in presses:  # a drop during it spoils it; one like a press just before, the re-arm
        first, last = one["trace"][0][0], one["trace"][-1][0]
        one["must"] = not any(
            each["trace"][0][0] <= last
            and each["trace"][-1][0] >= first - (0 if each["what"] == "splash" else 800)
            for each in drops)
    return sorted(drops + presses, key=lambda one: one["trace"][0][0])


def streams():
    """All four, by name."""
    return {draw.__name__: {"about": ABOUT, "what": draw.__doc__, "keys": KEYS,
                            "contacts": draw(random.Random(seed))}
            for seed, draw in enumerate([dry, smeared, raining, gloved], start=1)}


def as_text(stream):
    """One key screen and one contact a line."""
    keys = ",\n".join(f"  {json.dumps(name)}: {json.dumps(keys)}"
                      for name, keys in stream["keys"].items())
    contacts = ",\n".join("  " + json.dumps(one) for one in stream["contacts"])
    return (f'{{"about": {json.dumps(stream["about"])},\n "what": {json.dumps(stream["what"])},\n'
            f' "keys": {{\n{keys}}},\n "contacts": [\n{contacts}]}}\n')


if __name__ == "__main__":
    for name, stream in streams().items():
        Path(__file__).with_name(f"{name}.json").write_text(as_text(stream), "utf-8")
