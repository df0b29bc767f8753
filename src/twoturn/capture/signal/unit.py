"""The unit of time that a recording does not state: the one that gives a speed an engine turns at."""

from __future__ import annotations

from dataclasses import replace

from twoturn.capture.model import Capture

SLOWEST_RPM, FASTEST_RPM = 15.0, 12_000.0
"""An engine turned by hand, by its starter or running turns between these [1/min]; common practice, no source."""
UNITS = (("seconds", 1.0), ("milliseconds", 1e-3), ("microseconds", 1e-6), ("nanoseconds", 1e-9))


def likely_unit(mean_rpm: float) -> tuple[str, float] | None:
    """The unit of time that makes a speed one of an engine.

    Parameters
    ----------
    mean_rpm
        Mean speed if times are read as seconds [1/min].

    Returns
    -------
    tuple or None
        The unit in words and its length [s]; None where no unit gives a speed of an engine.
    """
    return next(((name, s) for name, s in UNITS if SLOWEST_RPM <= mean_rpm / s <= FASTEST_RPM), None)


def in_unit(capture: Capture, mean_rpm: float) -> Capture:
    """The capture with its times in the unit that gives a speed of an engine, and a sentence on that.

    Parameters
    ----------
    capture
        A capture that states no unit of time.
    mean_rpm
        Mean speed if its times are read as seconds [1/min].

    Returns
    -------
    Capture
        With other times, or with its time unknown where no unit fits, or itself where seconds fit.
    """
    found = likely_unit(mean_rpm)
    if found is None:
        note = (
            f"the file states no unit of time, and none gives a speed an engine turns at ({mean_rpm:.3g} rpm in "
            "seconds): the speed is not told, angles hold"
        )
        return replace(capture, time_known=False, notes=(*capture.notes, note))
    name, scale = found
    if scale == 1.0:
        return replace(capture, unit_stated=True)
    note = f"times taken as {name}: the file states no unit, and in seconds the engine would turn at {mean_rpm:.2g} rpm"
    channels = tuple(
        replace(one, times_s=one.times_s * scale, rate_hz=one.rate_hz / scale if one.rate_hz else None)
        for one in capture.channels
    )
    return replace(
        capture,
        channels=channels,
        duration_s=capture.duration_s * scale,
        rate_hz=capture.rate_hz / scale if capture.rate_hz else None,
        unit_stated=True,
        notes=(*capture.notes, note),
    )


def doubtful_speed(mean_rpm: float) -> list[str]:
    """A sentence where the stated unit gives a speed that no engine turns at; none otherwise.

    Parameters
    ----------
    mean_rpm
        Mean speed by the stated unit [1/min].
    """
    if SLOWEST_RPM / 3 <= mean_rpm <= 2 * FASTEST_RPM:
        return []
    return [f"{mean_rpm:.3g} rpm by the unit of time that the file states is no speed of an engine: check that unit"]
