"""What explains the evidence: smallest sets of whole-tooth slips."""

from __future__ import annotations

from dataclasses import dataclass

from twoturn.words.numbers import list_words, teeth_words


@dataclass(frozen=True)
class Explanation:
    """One smallest set of whole-tooth slips.

    Attributes
    ----------
    slips
        By sprocket (its shaft's id, or the pulley's where a shaft has several): belt teeth by which it lags the belt
        [-], positive late; those on their tooth are left out.
    rest
        By shaft: the part of its shift that is no whole tooth [crank degrees, positive late], posterior mean.
    probability
        Posterior probability [-].
    overlap
        True when TDC of overlap was taken for firing TDC: everything half a camshaft turn out.
    """

    slips: dict[str, int]
    rest: dict[str, float]
    probability: float
    overlap: bool = False

    @property
    def words(self) -> str:
        """The explanation as a technician says it."""
        named = [f"{name} {teeth_words(teeth)}" for name, teeth in self.slips.items()]
        if self.overlap:
            named = ["TDC of overlap taken for firing TDC", *named]
        return list_words(named) if named else "every sprocket on its tooth"


@dataclass(frozen=True)
class Explanations:
    """What explains the evidence.

    Attributes
    ----------
    explanations
        Most probable first; those below 0.001 are left out.
    other
        Probability [-] of a cause that is no whole tooth: sheared key, slipped hub or sensor wheel.
    cannot_separate
        Sentences: what these angles cannot tell apart, and what would.
    teeth
        By shaft: whole teeth against the crankshaft (of the shaft's own sprocket) [-], positive late, and their
        probability [-]. A linked shaft takes those of the shaft that turns it.
    """

    explanations: tuple[Explanation, ...]
    other: float
    cannot_separate: tuple[str, ...]
    teeth: dict[str, tuple[int, float]]

    @property
    def best(self) -> Explanation:
        """The most probable explanation."""
        return self.explanations[0]
