"""A span of toothed belt as a mechanical system: assumed shapes, a yielding end, stretch, and a finger that plucks it.

The span is a stiff string on the shapes sin(nπx) and one straight line that follows a yielding end, the arm of a
tensioner or a bracket. Its free vibration at small amplitude is stepped by the exact matrix exponential, so the true
first partial is an eigenvalue of the same matrix and owes nothing to any estimate. The finger, the stretch of the cord
and a hand that stops the belt are kicks between the steps.

L. Meirovitch, "Fundamentals of Vibrations" (2001), chapter 9 (assumed modes); N. H. Fletcher and T. D. Rossing, "The
Physics of Musical Instruments" (1998), chapter 2 (stiff string); G. F. Carrier, Q. Appl. Math. 3 (1945) 157-165.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import expm
from scipy.signal import lfilter

STEPS_HZ = 16_000
HIGHEST_HZ = 4000.0  # of the shapes
LONGEST_S = 1.2  # that one pluck rings


@dataclass(frozen=True)
class Span:
    """A span in units of its own length, mass and tension.

    Frequency of the ideal string of this mass and tension [Hz]; decay time of the first partial [s] and of the second
    over it [-]; bending EI/(T·L²) [-]; stiffness of the ends against turning over T·L [-]; the yielding end: its mass
    over the span's [-], its own frequency [Hz] and quality [-].
    """

    ideal_hz: float
    tau_s: float
    fall: float
    bending: float
    clamped: float
    arm_mass: float
    arm_hz: float
    arm_quality: float


@dataclass(frozen=True)
class Touch:
    """One pluck of a finger.

    Where and how wide over the span [-]; how high, 1 the hardest [-]; how long it is drawn and how long it slips off
    [s]; when a hand stops the belt, from the first touch [s]; length of the blow [s] where it is one, 0 for a draw.
    """

    place: float
    width: float
    height: float
    draw_s: float
    slip_s: float
    stop_s: float
    blow_s: float

    @property
    def release_s(self) -> float:
        """When the belt is free, from the first touch [s]."""
        return self.draw_s + (self.blow_s or self.slip_s)


class System:
    """Mass, stiffness and loss matrices of a span, and its exact step."""

    def __init__(self, span: Span) -> None:
        count = int(np.clip(HIGHEST_HZ / span.ideal_hz, 10, 44))
        self.number, self.size = np.arange(1, count + 1), count + 1
        wave = self.number * np.pi
        squared = (2 * span.ideal_hz) ** 2  # T/(m·L²) [1/s²]
        mass, pull, stiff, loss = (np.zeros((self.size, self.size)) for _ in range(4))
        mass[:count, :count] = np.eye(count) / 2
        mass[:count, -1] = mass[-1, :count] = -np.cos(wave) / wave  # the integral of x·sin(nπx)
        mass[-1, -1] = 1 / 3 + span.arm_mass
        pull[:count, :count] = np.diag(wave**2) / 2
        pull[-1, -1] = 1
        stiff[:count, :count] = span.bending * np.diag(wave**4) / 2
        for slope in (np.append(wave, 1.0), np.append(wave * np.cos(wave), 1.0)):
            stiff += span.clamped * np.outer(slope, slope)
        stiff = squared * (stiff + pull)
        arm = 2 * np.pi * span.arm_hz
        stiff[-1, -1] += span.arm_mass * arm**2
        growing = (1 / span.fall - 1) / 3 / span.tau_s
        loss[:count, :count] = np.diag(max(1 / span.tau_s - growing, 0) + growing * np.minimum(self.number, 25) ** 2)
        loss[-1, -1] = span.arm_mass * arm / span.arm_quality
        self.inverse = np.linalg.inv(mass)
        self.pull = squared * self.inverse @ pull
        self.matrix = np.block(
            [[np.zeros_like(mass), np.eye(self.size)], [-self.inverse @ stiff, -self.inverse @ loss]]
        )
        self.step = expm(self.matrix / STEPS_HZ)

    def partials(self, count: int) -> list[tuple[float, float]]:
        """Frequencies [Hz] and decay times [s] of the first modes, each the one most like its sine."""
        values, vectors = np.linalg.eig(self.matrix)
        shapes = np.abs(vectors[: self.size])
        shapes = shapes / np.sqrt((shapes**2).sum(axis=0)) * (values.imag > 0)
        best = [values[int(np.argmax(shapes[k]))] for k in range(count)]
        return [(float(value.imag / 2 / np.pi), float(-1 / value.real)) for value in best]

    def finger(self, place: float, width: float) -> np.ndarray:
        """Shapes averaged over a finger, shape (size,); its place and width over the span [-]."""
        return np.append(np.sin(self.number * np.pi * place) * np.sinc(self.number * width), place)

    def heard(self, place: float, distance: float) -> np.ndarray:
        """How loud each shape is near by, shape (size,): a row of dipoles; place and distance over the span [-]."""
        along = np.linspace(0, 1, 401)
        near = ((along - place) ** 2 + distance**2) ** -1.5
        near /= near.sum()
        return np.append(np.sin(np.pi * np.outer(self.number, along)) @ near, along @ near)


def vibrate(
    system: System, touches: list[Touch], stretch: float, ear: np.ndarray, tau_s: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Every touch by itself: velocity heard, force on the yielding end, force of the finger, each (touches, steps).

    ``stretch`` is the growth of the tension per mean square slope [-], ``ear`` weighs the shapes, ``tau_s`` the decay
    time of the first partial [s]. Steps are of 1/``STEPS_HZ``.
    """
    steps = int((max(touch.release_s for touch in touches) + min(8 * tau_s, LONGEST_S)) * STEPS_HZ)
    held, aim, stopped = (np.stack(part, axis=1) for part in zip(*[hand(one, steps) for one in touches], strict=True))
    size, dt = system.size, 1 / STEPS_HZ
    grip = np.stack([system.finger(one.place, one.width) for one in touches], axis=1)
    palm = np.stack([system.finger(min(one.place + 0.06, 0.9), 0.15) for one in touches], axis=1)
    pushed, stilled = system.inverse @ grip, system.inverse @ palm
    spring, brake = 0.3 / dt**2 / (grip * pushed).sum(axis=0), 0.2 / dt / (palm * stilled).sum(axis=0)
    drag, blown = 0.5 * dt * spring, np.array([one.blow_s > 0 for one in touches])
    square = np.append((system.number * np.pi) ** 2 / 2, 1.0)
    end = np.append(system.number * np.pi * np.cos(system.number * np.pi), 1.0)
    state = np.zeros((2 * size, len(touches)))
    velocity, at_end, at_finger = (np.zeros((steps, len(touches))) for _ in range(3))
    busy, still = (np.asarray(one.any(axis=1)) for one in (held, stopped))
    for i in range(steps):
        state = system.step @ state
        place, speed = state[:size], state[size:]
        kick = -(stretch * (square @ (place * place))) * (system.pull @ place)
        if busy[i]:
            drawn = spring * (aim[i] - (grip * place).sum(axis=0)) - drag * (grip * speed).sum(axis=0)
            at_finger[i] = held[i] * np.where(blown, 0.02 * spring * aim[i], drawn)
            kick += pushed * at_finger[i]
        if still[i]:
            kick -= stilled * (stopped[i] * brake * (palm * speed).sum(axis=0))
        speed += dt * kick
        velocity[i], at_end[i] = ear @ speed, end @ place
    return velocity.T, at_end.T, at_finger.T


def hand(touch: Touch, steps: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """How firmly a finger holds [-], where it pulls the belt to, how firmly a hand stops it [-], each (steps,)."""
    time = np.arange(steps) / STEPS_HZ
    stopped = np.clip((time - touch.stop_s) / 0.004, 0, 1)
    if touch.blow_s:
        through = np.clip((time - touch.draw_s) / touch.blow_s, 0, 1)
        return (through > 0) & (through < 1), touch.height * np.sin(np.pi * through), stopped
    pulled = touch.height * 0.5 * (1 - np.cos(np.pi * np.clip(time / touch.draw_s, 0, 1)))
    held = np.clip((touch.draw_s + touch.slip_s - time) / touch.slip_s, 0, 1)
    return held * np.clip(time / (0.2 * touch.draw_s), 0, 1), pulled, stopped


def ring(force: np.ndarray, rate_hz: int, modes: list[tuple[float, float, float]]) -> np.ndarray:
    """Acceleration of resonances that a force drives: frequency [Hz], decay time [s] and weight [-] of each."""
    total = np.zeros_like(force)
    for hertz, tau_s, weight in modes:
        if hertz < 0.45 * rate_hz:
            keep, turn = np.exp(-1 / (tau_s * rate_hz)), 2 * np.pi * hertz / rate_hz
            total += weight * lfilter([1, -2, 1], [1, -2 * keep * np.cos(turn), keep**2], force)
    return total
