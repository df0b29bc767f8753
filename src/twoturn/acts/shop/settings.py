"""Settings of the shop: its name and address as they stand on papers, and the units its people use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from twoturn.acts.shop.forms import FormReader, one_of
from twoturn.acts.shop.people import Actor, allow
from twoturn.acts.shop.shop import Shop
from twoturn.job.asked.model import Units
from twoturn.store.records import settings as kept

UNITS: dict[str, Units] = {
    "metric": Units(),
    "imperial": Units(torque="lbf·ft", length="in", temperature="°F", distance="mi"),
}
"""The units of each choice; a number typed with a unit is taken in that one."""
KEY = "shop"


@dataclass(frozen=True)
class Settings:
    """Settings of the shop.

    Attributes
    ----------
    shop_name, address
        As printed on papers; empty where nobody has said. The address has lines.
    telephone
        As printed on papers.
    units
        ``metric`` or ``imperial``.
    """

    shop_name: str = ""
    address: str = ""
    telephone: str = ""
    units: str = "metric"


def settings(shop: Shop) -> Settings:
    """The settings as they are."""
    with shop.reading() as connection:
        held = kept.settings(connection).get(KEY)
    known = asdict(Settings())
    found = held if isinstance(held, dict) else {}
    made = Settings(**{key: str(found.get(key, usual)) for key, usual in known.items()})
    return made if made.units in UNITS else Settings(made.shop_name, made.address, made.telephone)


def save_settings(shop: Shop, actor: Actor, texts: Mapping[str, str]) -> Settings:
    """Keep the settings of a form.

    Parameters
    ----------
    shop, actor
        The record, and who changes them: a lead.
    texts
        ``shop_name``, ``address``, ``telephone``, ``units``.

    Raises
    ------
    NotAllowed, FormRefused
        Not a lead; fields that cannot be.
    """
    allow(actor, "lead")
    form = FormReader(texts)
    made = Settings(
        shop_name=form.text("shop_name", 80) or "",
        address=form.lines("address", 400) or "",
        telephone=form.text("telephone", 40) or "",
        units=form.read("units", one_of(*UNITS)) or "metric",
    )
    form.settle()
    with shop.writing() as connection:
        kept.put(connection, {KEY: asdict(made)})
    return made


def units_here(shop: Shop, chosen: str = "") -> Units:
    """The units a person types and reads: those chosen on the device, else the shop's."""
    return UNITS[chosen if chosen in UNITS else settings(shop).units]
