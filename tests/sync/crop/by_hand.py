"""The crop of one class worked out the slow way, from the formulas alone and none of their code.

A cell is two lists: `readings` as (day, cover_pct, depths, kind), kind one of "drawn", "eye" and
"after"; `days` as {day: bags tallied}. One class, no clips, no lots, one rule. Letters are those
of the formulas: x, u indices, B crop, C mark, q share, P pickable, M margins.
"""

import math
from datetime import date, timedelta

RHO = 12.0
V_RHO = (0.6 * RHO) ** 2 + (0.2 * RHO) ** 2
# No clip: σ² = (0.30ρ)²·100, so η² = σ²/(ρ²·100) = 0.09, half of it between cells.
THETA_ETA2 = 0.5 * 0.09
# One person read every quadrat and nobody read one again: ± 12 % on all of it.
V_READER = 0.12**2
DELTA2 = V_RHO / RHO**2 + THETA_ETA2 + V_READER
KAPPA, V_KAPPA, S2 = 7.0, (0.35 * 7.0) ** 2, (0.5 * 7.0) ** 2
PHI, Z = 0.8, 0.6744897501960817
REST_MONTHS, LAYER_MM, KEEP, R0 = 60, 40.0, 0.30, 2.0 / 5.0
V_R0 = (0.5 * R0) ** 2


def index(reading):
    _, cover, depths, _ = reading
    if not depths:
        return (0.0, 0.0)
    c = min(1.0, cover / 100)
    return (c * sum(depths) / len(depths),
            c * sum(max(d - LAYER_MM, 0) for d in depths) / len(depths))


def months_on(day, months):
    month = day.month - 1 + months
    try:
        return day.replace(year=day.year + month // 12, month=month % 12 + 1)
    except ValueError:
        return date(day.year + (month + 1) // 12, (month + 1) % 12 + 1, 1)


def season(day):
    return day.year if day.month >= 7 else day.year - 1


def joins(first, last, day):
    near = season(day) == season(first) or (day - last).days <= 28
    return near and (day - first).days < 365


def picks_by_date(days):
    picks = []
    for day in sorted(d for d, bags in days.items() if bags >= 0.5):
        if picks and joins(picks[-1][0], picks[-1][-1], day):
            picks[-1].append(day)
        else:
            picks.append([day])
    return picks


def mean(values):
    return sum(values) / len(values)


def rested(day, picks):
    before = [p for p in picks if p[0] < day]
    return not before or day >= months_on(before[-1][-1], REST_MONTHS)


class Class:
    """What the rested quadrats of all cells say, given each cell's picks that were more than a
    touch, by readings up to a day."""

    def __init__(self, cells, picks, until):
        self.drawn, self.eye, self.pairs = {}, {}, []
        for name, cell in cells.items():
            useful = [r for r in cell["readings"] if r[0] <= until and r[3] != "after"
                      and rested(r[0], picks.get(name, []))]
            self.drawn[name] = [index(r) for r in useful if r[3] == "drawn"]
            self.eye[name] = [index(r) for r in useful if r[3] == "eye"]
        every = [i for each in self.drawn.values() for i in each]
        self.known = bool(every)
        if not self.known:
            return
        own = {n: [x for x, _ in each] for n, each in self.drawn.items() if each}
        means = {n: mean(x) for n, x in own.items()}
        level = max(1.0, mean(list(means.values())))
        prior = (0.6 * level) ** 2
        ssw = sum((x - means[n]) ** 2 for n, xs in own.items() for x in xs)
        self.s_w2 = (4 * prior + ssw) / (4 + sum(len(xs) - 1 for xs in own.values()))
        psi = {n: self.s_w2 / len(xs) for n, xs in own.items()}
        more = len(own) - 1
        self.s_v2 = (4 * prior + more * self.reml(means, psi)) / (4 + more)
        unsure = 1 - sum(len(xs) - 1 for xs in own.values()) / 3
        if unsure > 0 and more:
            mid = mean(list(means.values()))
            seen = sum((x - mid) ** 2 for x in means.values()) / more
            half = max(2 * prior, (4 * 2 * prior + more * seen) / (4 + more)) / 2
            self.s_w2 += unsure * (half - self.s_w2)
            self.s_v2 += unsure * (half - self.s_v2)
        psi = {n: self.s_w2 / len(xs) for n, xs in own.items()}
        w = {n: 1 / (self.s_v2 + psi[n]) for n in own}
        self.v_mu = 1 / sum(w.values())
        self.mu = sum(w[n] * means[n] for n in own) * self.v_mu
        # Of two or three cells REML's word counts by its weight alone.
        part = more / (4 + more) if 2 <= len(own) < 4 else 1
        self.w2 = sum(one**2 for one in w.values()) / part**2
        self.x_bar, self.u_bar = mean([x for x, _ in every]), mean([u for _, u in every])
        self.df = 4 + more

    @staticmethod
    def reml(means, psi):
        def gap(s):
            w = {n: 1 / (s + psi[n]) for n in means}
            whole = sum(w.values())
            mu = sum(w[n] * means[n] for n in means) / whole
            squares = sum(v**2 for v in w.values())
            return (sum((w[n] * (means[n] - mu)) ** 2 for n in means) - whole + squares / whole)

        if len(means) < 2 or gap(0.0) <= 0:
            return 0.0
        low, high = 0.0, 1.0
        while gap(high) > 0:
            high *= 2
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if gap(middle) > 0 else (low, middle)
        return low

    def cell(self, xs, eye=False):
        """Index and M_cc of a cell with these volume indices of its own."""
        if not xs:
            return self.mu, self.s_v2 + self.v_mu
        psi = self.s_w2 / len(xs) + ((0.25 * mean(xs)) ** 2 if eye else 0.0)
        gamma = self.s_v2 / (self.s_v2 + psi)
        g3 = psi**2 / (self.s_v2 + psi) ** 3 * 2 / self.w2
        error = self.s_v2 * (1 - gamma) + 2 * g3 + self.v_mu * (1 - gamma) ** 2
        return gamma * mean(xs) + (1 - gamma) * self.mu, error

    def share(self, own):
        x = sum(i[0] for i in own) + 2 * self.x_bar
        return (sum(i[1] for i in own) + 2 * self.u_bar) / x if x > 0 else 0.0


def started(area, x, error):
    b = area * RHO * x / 1000
    cv2 = 0.0
    if x > 0:
        a, d = error / x**2, V_RHO / RHO**2
        cv2 = a + d + a * d + THETA_ETA2 + V_READER
    v = cv2 * b**2
    return {"B": b, "C": b, "VB": v, "VC": v, "Cov": v}


def grown(s, years, r, v_r):
    if years <= 0 or s["C"] <= 0 or s["B"] >= s["C"]:
        return s
    b = PHI * s["B"] / s["C"]
    if b <= 0:
        return s
    most = math.log(PHI * (1 - b) / (b * (1 - PHI))) / r if r > 0 else math.inf
    span = min(years, most)
    fade = math.exp(-r * span)
    g = b / (b + (1 - b) * fade)
    d1 = fade / (b + (1 - b) * fade) ** 2
    a = (g - b * d1) / PHI
    by_r = s["C"] / PHI * span * g * (1 - g)
    back = s["C"] if most <= years else s["C"] * g / PHI
    return {"B": back, "C": s["C"], "VC": s["VC"],
            "VB": d1**2 * s["VB"] + a**2 * s["VC"] + 2 * d1 * a * s["Cov"] + by_r**2 * v_r,
            "Cov": d1 * s["Cov"] + a * s["VC"]}


def surveys_of(readings, picking_days):
    useful = [r for r in readings if r[3] != "after"]
    drawn = [r for r in useful if r[3] == "drawn"]
    rest, found = sorted(drawn or useful, key=lambda r: r[0]), []
    while rest:
        latest = rest[-1][0]
        since = max([d for d in picking_days if d < latest], default=date.min)
        mine = [r for r in rest if r[0] > since and (latest - r[0]).days <= 120]
        found.insert(0, mine)
        rest = rest[: len(rest) - len(mine)]
    return found


def weighed(bags):
    return KAPPA * bags, bags**2 * V_KAPPA + bags * S2


class Cell:
    """One cell of the class on a day: its walk, its state, and what may be taken."""

    def __init__(self, cells, name, area, until):
        me = cells[name]
        self.cells, self.name = cells, name
        self.area, self.until = area, until
        self.readings = [r for r in me["readings"] if r[0] <= until]
        self.days = {d: n for d, n in me["days"].items() if d <= until}
        self.picks, self.real = picks_by_date(self.days), []
        for pick in self.picks:
            if not self.touches(cells, name, pick):
                self.real.append(pick)
        self.known = Class(cells, {name: self.real}, until)
        own = self.rested_of(self.readings, self.real)
        drawn = [r for r in own if r[3] == "drawn"]
        self.own = drawn or own
        self.during = None
        if self.known.known:
            self.q = self.known.share([index(r) for r in self.own])
            self.r = self.growth()
            self.walk()

    @staticmethod
    def rested_of(readings, picks):
        return [r for r in readings if r[3] != "after" and rested(r[0], picks)]

    def bags(self, pick):
        return sum(n for d, n in self.days.items() if pick[0] <= d <= pick[-1])

    def touches(self, cells, name, pick):
        eve = pick[0] - timedelta(days=1)
        known = Class(cells, {name: self.real}, eve)
        if not known.known:
            return False
        own = self.rested_of([r for r in self.readings if r[0] <= eve], self.real)
        drawn = [r for r in own if r[3] == "drawn"]
        mine = [index(r) for r in drawn or own]
        x, _ = known.cell([i[0] for i in mine], eye=not drawn)
        return KAPPA * self.bags(pick) < 0.1 * known.share(mine) * self.area * RHO * x / 1000

    def growth(self):
        if not self.real:
            return R0, V_R0
        first, until = self.real[0], self.real[1][0] if len(self.real) > 1 else date.max
        before = [r for r in self.rested_of(self.readings, self.real)
                  if r[3] == "drawn" and r[0] <= first[0]]
        real_days = sorted(d for p in self.real for d in p)
        after = [s for s in surveys_of(self.readings, real_days)
                 if s[0][3] == "drawn" and first[-1] < max(r[0] for r in s) <= until]
        if not before or not after:
            return R0, V_R0
        at_rest = [s for s in after if rested(max(r[0] for r in s), [first])]
        taught = at_rest[0] if at_rest else after[-1]
        again, last = [index(r)[0] for r in taught], max(r[0] for r in taught)
        then = Class(self.cells, {self.name: self.real}, first[0])
        x, error = then.cell([index(r)[0] for r in before])
        plain, plain_error = then.cell([])
        if x < 0.5 * plain:
            x, error = 0.5 * plain, plain_error / 4
        if x <= 0:
            return R0, V_R0
        c = self.area * RHO * x / 1000
        since = max(r[0] for r in before)
        touched = [p for p in self.picks if p not in self.real and since <= p[0] < last]
        stray = [d for d in self.days if not any(p[0] <= d <= p[-1] for p in self.picks)
                 and since <= d < last]
        each = [self.bags(first), *map(self.bags, touched), *(self.days[d] for d in stray)]
        taken, v_g = KAPPA * sum(each), sum(weighed(n)[1] for n in each)
        in_pick = {d: n for d, n in self.days.items() if first[0] <= d <= first[-1]}
        middle = sum(d.toordinal() * n for d, n in in_pick.items()) / sum(in_pick.values())
        scale = self.area * RHO / 1000
        return learned(
            c, max(c - taken, 0.02 * c), (last.toordinal() - middle) / 365.25,
            scale * mean(again), scale**2 * self.known.s_w2 / len(again), scale**2 * error, v_g)

    def mark(self, day):
        xs = [index(r)[0] for r in self.own if r[0] <= day]
        eye = bool(self.own) and self.own[0][3] == "eye"
        return started(self.area, *self.known.cell(xs, eye))

    def walk(self):
        plain = started(self.area, *self.known.cell([]))
        s, at, marked, self.measured = plain, None, False, None
        real_days = sorted(d for p in self.real for d in p)
        surveys = surveys_of(self.readings, real_days)
        survey_days = [max(r[0] for r in one) for one in surveys]
        events = [(float(day.toordinal()), 0, one) for day, one in
                  zip(survey_days, surveys, strict=True)]
        for pick in self.picks:
            whole, variance = weighed(self.bags(pick))
            parts = {}
            for day, n in self.days.items():
                if pick[0] <= day <= pick[-1]:
                    parts.setdefault(sum(d <= day for d in survey_days), {})[day] = KAPPA * n
            for part in parts.values():
                kg = sum(part.values())
                when = sum(d.toordinal() * k for d, k in part.items()) / kg
                events.append((when, 1, (kg, variance * kg / whole, pick)))
        for day, n in self.days.items():
            if not any(p[0] <= day <= p[-1] for p in self.picks):
                events.append((float(day.toordinal()), 1, (*weighed(n), None)))
        taken = {}
        for when, kind, what in sorted(events, key=lambda e: e[:2]):
            if at is not None:
                s = grown(s, (when - at) / 365.25, *self.r)
            at = when
            if kind == 1:
                kg, variance, pick = what
                s = {**s, "B": max(s["B"] - kg, min(s["B"], 0.02 * s["C"])),
                     "VB": s["VB"] + variance}
                if pick is not None:
                    before = taken.get(pick[0], (0.0, 0.0))
                    taken[pick[0]] = (before[0] + kg, before[1] + variance)
                    if pick in self.real:
                        self.measured = None
                continue
            s, marked = self.survey(s, what, plain, marked)
            day = max(r[0] for r in what)
            begun = [p for p in self.picks if p[0] <= day]
            if begun:
                first = begun[-1][0]
                self.during = (first, s, self.pickable(s), taken.get(first, (0.0, 0.0)))
        if at is not None:
            s = grown(s, (self.until.toordinal() - at) / 365.25, *self.r)
        self.stand = s
        self.P = self.pickable(s)

    def survey(self, s, found, plain, marked):
        day = max(r[0] for r in found)
        at_rest = rested(day, self.real)
        if at_rest and not marked:
            s = self.mark(day)
        else:
            xs = [index(r)[0] for r in found]
            b_m = self.area * RHO * mean(xs) / 1000
            psi = self.known.s_w2 / len(xs)
            if found[0][3] == "eye":
                psi += (0.25 * mean(xs)) ** 2
            v_m = (self.area * RHO / 1000) ** 2 * psi
            w = s["VB"] / (s["VB"] + v_m)
            b = (1 - w) * s["B"] + w * b_m
            v = ((1 - w) ** 2 * s["VB"] + w**2 * (v_m + b_m**2 * DELTA2)
                 + 2 * w * (1 - w) * s["B"] * b_m * DELTA2)
            s = {**s, "B": b, "VB": v, "Cov": b * s["C"] * DELTA2}
            if at_rest:
                mark = self.mark(day)
                s = {**s, "C": mark["C"], "VC": mark["VC"], "Cov": b * mark["C"] * DELTA2}
        if at_rest and s["C"] < 0.5 * plain["C"]:
            c = 0.5 * plain["C"]
            s = {**s, "C": c, "VC": plain["VC"] / 4, "Cov": s["B"] * c * DELTA2}
        x = sum(index(r)[0] for r in found)
        self.measured = (s["B"], sum(index(r)[1] for r in found) / x if x > 0 else 0.0)
        return s, marked or at_rest

    def pickable(self, s):
        if s["C"] <= 0:
            return 0.0
        if s["B"] >= s["C"]:
            return self.q * s["B"]
        if self.measured is None:
            return max(0.0, s["B"] - (1 - self.q) * s["C"])
        b_s, q_s = self.measured
        q_s = min(self.q, q_s)
        if s["B"] <= b_s:
            return q_s * s["B"]
        way = (s["B"] - b_s) / (s["C"] - b_s)
        return q_s * b_s + way * (self.q * s["C"] - q_s * b_s)


def logistic(c, left, years, r):
    b = PHI * left / c
    return c / PHI * b / (b + (1 - b) * math.exp(-r * years))


def learned(c, left, years, measured, v_m, v_c, v_g):
    """r and its variance by one re-measured cell: no scatter, so its own errors alone."""
    def slope(r):
        g = logistic(c, left, years, r) * PHI / c
        return c / PHI * years * g * (1 - g)

    low, high = 0.0, 3 * R0
    if logistic(c, left, years, low) >= measured:
        r = low
    elif logistic(c, left, years, high) < measured:
        r = high
    else:
        for _ in range(100):
            r = (low + high) / 2
            low, high = (r, high) if logistic(c, left, years, r) < measured else (low, r)
    at = r
    for _ in range(2):
        b, fade = PHI * left / c, math.exp(-at * years)
        d = fade / (b + (1 - b) * fade) ** 2
        a = (b / (b + (1 - b) * fade) - b * d) / PHI
        shared = (d * (c - left)) ** 2 * (V_RHO / RHO**2 + V_KAPPA / KAPPA**2)
        v = (v_m + (d + a) ** 2 * v_c + d**2 * v_g + shared) / slope(at) ** 2
        at = (R0 / V_R0 + r / v) / (1 / V_R0 + 1 / v)
    return at, 1 / (1 / V_R0 + 1 / v)


def may_take(s, pickable, area, *, r=R0, v_r=V_R0, keep=KEEP, months=REST_MONTHS, share=None,
             kg_ha=None):
    b, c, t = s["B"], s["C"], months / 12
    if b <= 0:
        return 0.0
    e = PHI / (PHI + (1 - PHI) * math.exp(r * t))
    f = e / PHI
    inner = (s["VB"] + f**2 * s["VC"] - 2 * f * s["Cov"]
             + (c * t * e * (1 - e) / PHI) ** 2 * v_r)
    cv2 = s["VB"] / b**2
    b_q = b / math.sqrt(1 + cv2) * math.exp(-Z * math.sqrt(math.log(1 + cv2)))
    margins = [b - f * c - Z * math.sqrt(max(0.0, inner)), (1 - keep) * pickable * b_q / b]
    if share is not None:
        margins.append(share * b_q)
    if kg_ha is not None:
        margins.append(kg_ha * area / 10_000)
    return max(0.0, min(margins))


def today(cells, name, area, on, finished=()):
    """State, may take and left of a cell on a day."""
    cell = Cell(cells, name, area, on)

    def still_open(pick):
        named = any(pick[-1] <= day <= on for day in finished)
        return not named and joins(pick[0], pick[-1], on)

    opened = [p for p in cell.picks if still_open(p)]
    over = [p for p in cell.real if p not in opened]
    if over and on < months_on(over[-1][-1], REST_MONTHS):
        return "resting", 0.0, 0.0, cell
    useful = [r for r in cell.readings if r[3] != "after"]
    days = [r[0] for r in [r for r in useful if r[3] == "drawn"] or useful]
    if not any(day > (over[-1][-1] if over else date.min) for day in days):
        return "unsurveyed", 0.0, 0.0, cell
    if not cell.known.known:
        return "ready", None, None, cell
    if not opened:
        r, v_r = cell.r
        may = may_take(cell.stand, cell.P, area, r=r, v_r=v_r)
        return "ready", may, may, cell
    pick = opened[-1]
    start = Cell(cells, name, area, pick[0] - timedelta(days=1))
    r, v_r = start.r if start.known.known else (R0, V_R0)
    if cell.during and cell.during[0] == pick[0]:
        _, s, p, (kg, v) = cell.during
        may = may_take({**s, "B": s["B"] + kg, "VB": s["VB"] + v}, p + kg, area, r=r, v_r=v_r)
    else:
        if not start.known.known:
            return "ready", None, None, cell
        may = may_take(start.stand, start.P, area, r=r, v_r=v_r)
    left = max(0.0, may - KAPPA * cell.bags(pick))
    return ("taken" if left == 0 else "ready"), may, left, cell
