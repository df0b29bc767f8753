"""A slow second computation of a belt at rest, from the text of the drive file alone: no code of the package is used.

Tangents come from arcsines of one circle pair at a time, ∂L by five-point differences, roots from a fine walk and
Brent's method, slopes from differences of solved states, extremes and probabilities from dense tables.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable

from scipy.optimize import brentq, minimize_scalar
from scipy.stats import norm

DEG = math.pi / 180


class SlowDrive:
    """One belt, one tensioner, read from the text of a drive file."""

    def __init__(self, text: str, temperature_c: float | None = None, longer_mm: float = 0.0) -> None:
        self.data = tomllib.loads(text)
        head = self.data["drive"]
        self.text, self.longer_mm = text, longer_mm
        self.reference = head.get("reference_temperature_c", 20.0)
        self.dt = 0.0 if temperature_c is None else temperature_c - self.reference
        self.block = 1 + head.get("block_expansion_per_k", 21.5e-6) * self.dt
        self.sense = 1 if head["crank_turns"] == "clockwise" else -1
        self.belt = self.data["belt"][0]
        self.pulleys = self.data["pulley"]
        self.tensioner = self.data["tensioner"][0]
        self.kind = self.tensioner["kind"]
        self.sigma = 1 if self.tensioner.get("tightens", "clockwise") == "clockwise" else -1
        self.unit = 1.0 if self.kind == "slide" else DEG
        self.offset = 0.0
        self.zero: float | None = None
        self.alpha = self.tensioner.get("adjuster_deg", 0.0)
        self.held: float | None = None

    # geometry
    def radius(self, pulley: dict) -> float:
        steel = 11.5e-6 if "teeth" in pulley else 0.0
        growth = 1 + pulley.get("expansion_per_k", steel) * self.dt
        if "teeth" in pulley:
            return pulley["teeth"] * self.belt["pitch_mm"] / (2 * math.pi) * growth
        key = "back_mm" if pulley["belt_side"] == "back" else "tip_mm"
        return pulley["diameter_mm"] / 2 * growth + self.belt.get(key, 0.0)

    def arm_end(self, pointer: float, alpha: float) -> tuple[float, float]:
        row = self.tensioner
        if self.kind == "slide":
            x, y = (value * self.block for value in row["at_notch_mm"])
            angle = row["tightens_deg"] * DEG
            return x + pointer * math.sin(angle), y + pointer * math.cos(angle)
        x, y = (value * self.block for value in row.get("bolt_mm", row.get("pivot_mm")))
        if self.kind == "double eccentric":
            x += row["adjuster_mm"] * math.sin(alpha * DEG)
            y += row["adjuster_mm"] * math.cos(alpha * DEG)
        phi = (row["notch_deg"] + self.sigma * pointer) * DEG
        return x + row["arm_mm"] * math.sin(phi), y + row["arm_mm"] * math.cos(phi)

    def shape(self, pointer: float, alpha: float) -> tuple[float, list[float], list[float], list[float]]:
        """Length, spans, wraps (degrees) and heading of every span (radians, counter-clockwise from x)."""
        circles = []
        for pulley in self.pulleys:
            if pulley["id"] == self.tensioner["pulley"]:
                x, y = self.arm_end(pointer, alpha)
            else:
                x, y = (value * self.block for value in pulley["at_mm"])
            turns = self.sense if pulley["belt_side"] == "teeth" else -self.sense
            circles.append((x, y, self.radius(pulley), turns))
        spans, headings = [], []
        for (x1, y1, r1, t1), (x2, y2, r2, t2) in zip(circles, circles[1:] + circles[:1], strict=True):
            apart = math.hypot(x2 - x1, y2 - y1)
            lean = math.asin((t2 * r2 - t1 * r1) / apart)
            headings.append(math.atan2(y2 - y1, x2 - x1) + lean)
            spans.append(apart * math.cos(lean))
        wraps = []
        for index, (_, _, _, turns) in enumerate(circles):
            turned = -(headings[index] - headings[index - 1]) * turns
            wraps.append(turned % (2 * math.pi))
        length = sum(spans) + sum(circle[2] * wrap for circle, wrap in zip(circles, wraps, strict=True))
        return length, spans, [wrap / DEG for wrap in wraps], headings

    def length(self, pointer: float, alpha: float | None = None) -> float:
        return self.shape(pointer, self.alpha if alpha is None else alpha)[0]

    def lever(self, pointer: float, alpha: float | None = None) -> float:
        """∂L/∂pointer per radian (per mm for a slide)."""
        return slope(lambda p: self.length(p, alpha), pointer, 0.05 if self.unit == DEG else 0.02) / self.unit

    def pull(self, pointer: float, alpha: float) -> float:
        """|u_in − u_out| at the tensioner."""
        headings = self.shape(pointer, alpha)[3]
        index = [pulley["id"] for pulley in self.pulleys].index(self.tensioner["pulley"])
        return 2 * abs(math.sin((headings[index] - headings[index - 1]) / 2))

    # spring and belt
    def ram(self, pointer: float, block: float | None = None) -> float:
        row, grown = self.tensioner, self.block if block is None else block
        angle = (row["notch_deg"] + self.sigma * pointer + row["ram_deg"]) * DEG
        x = row["pivot_mm"][0] * grown + row["ram_arm_mm"] * math.sin(angle) - row["base_mm"][0] * grown
        y = row["pivot_mm"][1] * grown + row["ram_arm_mm"] * math.cos(angle) - row["base_mm"][1] * grown
        return math.hypot(x, y)

    def effort(self, pointer: float, alpha: float, friction: float = 0.0) -> float:
        """Generalised force: N·mm for arms, N for a slide."""
        row = self.tensioner
        if self.kind == "slide":
            return row["spring_n"] - row.get("rate_n_per_mm", 0.0) * pointer + friction * row.get("friction_n", 0.0)
        if self.kind == "hydraulic":
            grown = self.ram(pointer) - self.ram(0.0, 1.0)
            force = row["ram_n"] - row.get("rate_n_per_mm", 0.0) * grown + friction * row.get("friction_n", 0.0)
            return force * slope(self.ram, pointer, 0.05) / DEG
        wound = pointer
        if self.zero is not None:
            wound -= self.sigma * ((alpha - self.zero + 180) % 360 - 180)
        torque = row["spring_nm"] - row.get("rate_nm_per_deg", 0.0) * wound + friction * row.get("friction_nm", 0.0)
        return 1000 * torque

    def free(self, teeth: int | None = None) -> float:
        count = self.belt["teeth"] if teeth is None else teeth
        made = count * self.belt["pitch_mm"] + self.belt.get("length_error_mm", 0.0) + self.offset
        return made * (1 + self.belt.get("expansion_per_k", 0.0) * self.dt) + self.longer_mm

    def tension(self, pointer: float, alpha: float | None = None, teeth: int | None = None) -> float:
        stretched = self.length(pointer, alpha) / self.free(teeth) - 1
        return max(0.0, self.belt.get("length_at_n", 0.0) + self.belt["stiffness_n"] * stretched)

    def relaxed(self, length: float, tension: float) -> float:
        return length / (1 + (tension - self.belt.get("length_at_n", 0.0)) / self.belt["stiffness_n"])

    def lead(self, pointer: float, alpha: float, friction: float = 0.0, teeth: int | None = None) -> float:
        tension = self.tension(pointer, alpha, teeth)
        return self.effort(pointer, alpha, friction) - tension * self.lever(pointer, alpha)

    def accepted(self, pointer: float, alpha: float, teeth: int | None = None) -> bool:
        g = self.lever(pointer, alpha)
        arm = 1.0 if self.kind == "slide" else self.tensioner["arm_mm"]
        if g <= 0 or g < 0.3 * arm * self.pull(pointer, alpha):
            return False
        if self.kind == "hydraulic" and slope(self.ram, pointer, 0.05) / DEG < 0.3 * self.tensioner["ram_arm_mm"]:
            return False
        return slope(lambda p: self.lead(p, alpha, 0.0, teeth), pointer, 0.02) < 0

    # settings and rest
    def stops(self) -> tuple[float, float]:
        pair = self.tensioner.get("stops_mm" if self.kind == "slide" else "stops_deg")
        return tuple(pair) if pair else (-180.0, 180.0)

    def rest(self, friction: float = 0.0, alpha: float | None = None, teeth: int | None = None) -> float:
        angle = self.alpha if alpha is None else alpha
        roots = walk(lambda p: self.lead(p, angle, friction, teeth), *self.stops(), 0.5)
        return min((p for p in roots if self.accepted(p, angle, teeth)), key=abs)

    def adjuster_for(self, pointer: float, teeth: int | None = None, near: float | None = None) -> float:
        low, high = self.tensioner["adjuster_range_deg"]
        way = 1 if self.tensioner["adjust_turns"] == "clockwise" else -1
        roots = walk(lambda a: self.lead(pointer, a, 0.0, teeth), low, high, 1.0)
        good = [
            a
            for a in roots
            if self.accepted(pointer, a, teeth) and way * slope(lambda b: self.length(pointer, b), a, 0.05) > 0
        ]
        return min(good, key=lambda a: abs(a - (near if near is not None else (low + high) / 2)), default=math.nan)

    def settle(self) -> SlowDrive:
        """Solve the settings at the reference temperature and hold them."""
        cold = SlowDrive(self.text)
        row = self.tensioner
        if self.belt.get("closure") == "at notch":
            cold.alpha = row.get("adjuster_deg", sum(row.get("adjuster_range_deg", (0, 0))) / 2)
            tension = row["target_n"] if self.kind == "locked eccentric" else cold.effort(0, cold.alpha) / cold.lever(0)
            cold.offset = cold.relaxed(cold.length(0), tension) - cold.free()
            cold.zero = cold.alpha if row.get("spring_reacts_on") == "adjuster" else None
            cold.held = row.get("set_deg", 0.0) if self.kind == "locked eccentric" else None
        elif self.kind == "locked eccentric":
            cold.held = row["set_deg"] if "set_deg" in row else cold.locked_at(row["target_n"])
        elif self.kind == "double eccentric":
            found = cold.adjuster_for(0.0)
            cold.zero = found if row.get("spring_reacts_on") == "adjuster" else None
            cold.alpha = row.get("adjuster_deg", found)
        if row.get("locked_after_setting"):
            cold.held = cold.rest()
        self.alpha, self.zero, self.held, self.offset = cold.alpha, cold.zero, cold.held, cold.offset
        return self

    def locked_at(self, target: float, teeth: int | None = None) -> float:
        wanted = self.free(teeth) * (1 + (target - self.belt.get("length_at_n", 0.0)) / self.belt["stiffness_n"])
        roots = walk(lambda p: self.length(p) - wanted, *self.stops(), 0.5)
        arm = self.tensioner["arm_mm"]
        good = [p for p in roots if self.lever(p) > 0 and self.lever(p) >= 0.3 * arm * self.pull(p, 0.0)]
        return min(good, key=abs, default=math.nan)

    def pointer(self) -> float:
        return self.rest() if self.held is None else self.held

    def again(self, temperature_c: float, longer_mm: float = 0.0) -> SlowDrive:
        """The same settings at another temperature or with a longer belt."""
        other = SlowDrive(self.text, temperature_c, longer_mm)
        other.alpha, other.zero, other.held, other.offset = self.alpha, self.zero, self.held, self.offset
        return other

    # what the answer holds
    def answer(self) -> dict:
        self.settle()
        p = self.pointer()
        out = {"pointer": p, "tension_n": self.tension(p), "path_length_mm": self.length(p), "length_mm": self.free()}
        _, out["spans"], out["wraps"], _ = self.shape(p, self.alpha)
        out["centre_mm"] = list(self.arm_end(p, self.alpha))
        out["closure"] = self.offset if self.belt.get("closure") == "at notch" else None
        out["adjuster_deg"] = self.alpha if self.kind == "double eccentric" else None
        here = self.dt + self.reference
        out["deg_per_k"] = slope(lambda t: self.again(t).pointer(), here, 2.0)
        out["n_per_k"] = slope(lambda t: at_rest(self.again(t)), here, 2.0)
        out["deg_per_mm_belt"] = slope(lambda d: self.again(here, d).pointer(), 0.0, 0.02)
        out["n_per_mm_belt"] = slope(lambda d: at_rest(self.again(here, d)), 0.0, 0.02)
        if self.held is not None:
            out["n_per_deg"] = slope(self.tension, p, 0.05)
            if self.dt != 0 or self.kind == "locked eccentric":
                return out
        g = self.lever(p)
        out["low_n"], out["high_n"] = (self.effort(p, self.alpha, s) / g for s in (-1, 1))
        out.setdefault("n_per_deg", slope(self.reset_tension, p, 0.05))
        low, high = self.rest(-1.0), self.rest(1.0)
        out["settled"] = [self.tension(low), self.tension(high), low, high]
        out["window"] = self.window()
        return out

    def reset_tension(self, pointer: float, friction: float = 0.0) -> float:
        """(M + friction)/g with the adjuster re-solved, or the belt's length varied."""
        angle = self.alpha
        if self.kind == "double eccentric":
            angle = self.adjuster_for(pointer, near=self.alpha)
        return self.effort(pointer, angle, friction) / self.lever(pointer, angle)

    def window(self) -> list[float] | None:
        pair = self.tensioner.get("window_mm" if self.kind in ("slide", "hydraulic") else "window_deg")
        if pair is None:
            return None
        if self.kind == "hydraulic":
            at = self.tensioner["protrusion_at_notch_mm"] - self.ram(0.0, 1.0)
            pair = [brentq(lambda p, end=end: self.ram(p) + at - end, -30, 30, xtol=1e-13) for end in pair]
        if self.kind == "double eccentric":
            return self.window_by_adjuster(*pair)
        low = extreme(lambda p: self.reset_tension(p, -1.0), *pair, 1.0)
        high = extreme(lambda p: self.reset_tension(p, 1.0), *pair, -1.0)
        return [low, high, *pair]

    def window_by_adjuster(self, first: float, last: float) -> list[float]:
        """The window walked by the adjuster's angle: at each the pointer comes to rest somewhere."""
        low, high = self.tensioner["adjuster_range_deg"]
        way = 1 if self.tensioner["adjust_turns"] == "clockwise" else -1

        def pointer(angle: float) -> float:
            roots = walk(lambda p: self.lead(p, angle), *self.stops(), 6.0)
            return min((p for p in roots if self.accepted(p, angle)), key=abs, default=math.nan)

        def longer(angle: float) -> float:
            return way * slope(lambda b: self.length(pointer(angle), b), angle, 0.05)

        fold = high if longer(high) > 0 else brentq(longer, self.alpha, high, xtol=1e-12)
        branch = spread(low, min(high, fold), 100)
        rests = [pointer(a) for a in branch]
        inside = [(p, a) for p, a in zip(rests, branch, strict=True) if first <= p <= last]
        ends = []
        for end in (first, last):
            near = min(inside, key=lambda row: abs(row[0] - end))
            step = branch[1] - branch[0]
            lowest, highest = max(low, near[1] - 2 * step), min(branch[-1], near[1] + 2 * step)
            if (pointer(lowest) - end) * (pointer(highest) - end) < 0:
                ends.append(brentq(lambda a, end=end: pointer(a) - end, lowest, highest, xtol=1e-12))
            else:
                ends.append(min((lowest, highest), key=lambda a: abs(pointer(a) - end)))

        def tension(angle: float, friction: float) -> float:
            p = pointer(angle)
            return self.effort(p, angle, friction) / self.lever(p, angle)

        least = extreme(lambda a: tension(a, -1.0), min(ends), max(ends), 1.0)
        most = extreme(lambda a: tension(a, 1.0), min(ends), max(ends), -1.0)
        return [least, most, pointer(ends[0]), pointer(ends[1])]

    def u_length(self, pointer: float) -> float:
        """√Σ(|u_in − u_out|·1 mm)²: no coordinate of these files carries an uncertainty."""
        headings = self.shape(pointer, self.alpha)[3]
        return math.sqrt(
            sum((2 * math.sin((a - b) / 2)) ** 2 for a, b in zip(headings, headings[-1:] + headings[:-1], strict=True))
        )

    def probability(self, teeth: int) -> float:
        """Mass of the path errors that some pointer of the window (and the adjuster's range) can take."""
        pair = self.tensioner.get("window_mm" if self.kind == "slide" else "window_deg") or self.stops()
        angles = self.tensioner.get("adjuster_range_deg", [self.alpha, self.alpha])

        def error(p: float, a: float) -> float:
            if self.kind == "locked eccentric":
                tension = self.tensioner["target_n"]
            else:
                tension = self.effort(p, a) / self.lever(p, a)
            stretch = 1 + (tension - self.belt.get("length_at_n", 0.0)) / self.belt["stiffness_n"]
            return self.free(teeth) * stretch - self.length(p, a)

        least, most = (
            extreme(lambda p, s=sign: extreme(lambda a: error(p, a), *angles, s), *pair, sign) for sign in (1.0, -1.0)
        )
        u = self.u_length(self.pointer())
        return float(norm.cdf(most / u) - norm.cdf(least / u))


def at_rest(drive: SlowDrive) -> float:
    return drive.tension(drive.pointer())


def spread(low: float, high: float, count: int) -> list[float]:
    return [low + (high - low) * k / (count - 1) for k in range(count)]


def slope(function: Callable[[float], float], at: float, step: float) -> float:
    """Five-point derivative."""
    f = [function(at + k * step) for k in (-2, -1, 1, 2)]
    return (f[0] - 8 * f[1] + 8 * f[2] - f[3]) / (12 * step)


def walk(function: Callable[[float], float], low: float, high: float, step: float) -> list[float]:
    """All sign changes of a function, each polished."""
    count = max(2, round((high - low) / step) + 1)
    places = spread(low, high, count)
    values = []
    for place in places:
        try:
            values.append(function(place))
        except ValueError:
            values.append(math.nan)
    return [
        brentq(function, a, b, xtol=1e-12, rtol=1e-14)
        for a, b, fa, fb in zip(places[:-1], places[1:], values[:-1], values[1:], strict=True)
        if fa * fb < 0
    ]


def extreme(function: Callable[[float], float], low: float, high: float, sign: float) -> float:
    """Least (sign 1) or greatest (−1) value over an interval."""
    if low == high:
        return function(low)
    places = spread(low, high, 13)
    best = min(places, key=lambda p: sign * function(p))
    around = max(low, best - (high - low) / 12), min(high, best + (high - low) / 12)
    inner = minimize_scalar(lambda p: sign * function(p), bounds=around, method="bounded", options={"xatol": 1e-9})
    return sign * min(sign * function(best), inner.fun)
