"""What was found, what cured it, and photos."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from twoturn.drive.model.base import refusal
from twoturn.findings.catalogue import UnknownFinding, catalogue, finding
from twoturn.job.entries.base import EntryBase, Name, Names, Text

Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$", description="64 hexadecimal digits")]
File = Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f\\]+$")]


class FindingEntry(EntryBase):
    """Findings of the catalogue: present or not; ``"all"`` with ``except`` clears the rest in one line."""

    kind: Literal["finding"]
    finding: Annotated[Names, Field(description='the id of a finding, a list of them, or "all"')]
    present: Annotated[bool, Field(description="true or false")] = True
    except_: Annotated[Names | None, Field(alias="except", description="the ids that are not clear")] = None
    belt: Annotated[Name | None, Field(description="the id of a belt")] = None
    text: Annotated[Text | None, Field(description="a text")] = None

    @model_validator(mode="after")
    def _known(self) -> FindingEntry:
        if "all" in self.finding and (self.present or len(self.finding) > 1):
            raise refusal("finding", '"all"', '"all" alone, with present = false')
        if self.except_ and self.finding != ("all",):
            raise refusal("except", "except without all", 'except only beside finding = "all"')
        for key, ids in (("finding", self.finding), ("except", self.except_ or ())):
            for name in ids:
                if name != "all":
                    _check_finding(key, name)
        return self

    @property
    def said(self) -> dict[str, bool]:
        """Present or not, by the id of the finding."""
        if self.finding == ("all",):
            but = self.except_ or ()
            return {name: name in but for name in catalogue()}
        return dict.fromkeys(self.finding, self.present)


def _check_finding(key: str, name: str) -> None:
    try:
        finding(name)
    except UnknownFinding as error:
        near = " or ".join(f'"{item.id}"' for item in error.near)
        raise refusal(key, f'"{name}"', f"the id of a finding{', perhaps ' + near if near else ''}") from None


class Cured(EntryBase):
    """What answers a severe finding: "cured by …", signed, before the belt goes on."""

    kind: Literal["cured"]
    finding: Annotated[Names, Field(description="the id of the finding, or of the entry that holds it")]
    how: Annotated[Text, Field(description="what cured it")]


class Photo(EntryBase):
    """A photo kept as evidence."""

    kind: Literal["photo"]
    file: Annotated[File, Field(description="the name of a file in the job folder")]
    shows: Annotated[Text | None, Field(description="what it shows")] = None
    sha256: Annotated[Sha256 | None, Field(description="64 hexadecimal digits")] = None


def either(entry: Any, *keys: str) -> None:
    """Refuse an entry that gives not exactly one of ``keys``."""
    given = [key for key in keys if getattr(entry, key) is not None]
    if len(given) != 1:
        found = " and ".join(given) if given else "neither" if len(keys) == 2 else "none"
        raise refusal(given[-1] if given else keys[0], found, f"exactly one of {', '.join(keys)}")
