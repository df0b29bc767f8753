"""Running a bench on a folder: one at a time, from before the record is opened until it is closed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

from twoturn.acts.shop.shop import Shop, open_shop, place_named
from twoturn.store.files import sweep_incoming
from twoturn.store.locks import one_bench
from twoturn.store.place import check_place

HALF_SENT = timedelta(days=1)
"""How old what is left of a half-sent file must be to be taken away."""


@contextmanager
def running_shop(folder: str | Path | None, address: str) -> Iterator[Shop]:
    """The shop's record while a bench runs on it.

    Parameters
    ----------
    folder
        The data folder; the usual one when None.
    address
        Address of the bench's pages, told to who tries to run a second bench.

    Raises
    ------
    BenchRuns
        A bench runs on that folder already.
    StoreError
        The place is not safe, or the record cannot be opened.
    """
    place = place_named(folder)
    if place.url is None:
        check_place(place.folder)
    with one_bench(place, address), open_shop(folder) as shop:
        sweep_incoming(shop.place, shop.now() - HALF_SENT)
        yield shop
