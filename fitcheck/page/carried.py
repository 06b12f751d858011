"""Photographs of one job put into another: to measure them again, or together with others that come."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable

from fitcheck.ground.refusal import WrongCall
from fitcheck.page import jobs
from fitcheck.page.shop import Shop


def carry(shop: Shop, before: jobs.Job, job_id: int, names: Iterable[str]) -> None:
    """Put these photographs of the job ``before`` into the open job ``job_id`` too, in their order.

    Raises :class:`WrongCall` where one of them was cleared away since.
    """
    folder = shop.job_folder(job_id)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = folder / ".part"
    for name in names:
        try:
            _linked(shop.job_folder(before.id) / name, part)
        except FileNotFoundError:
            raise WrongCall("that photograph was cleared away since: photograph again") from None
        digest = jobs.digest_of(shop.db_path, before.id, name)
        jobs.add_photo(shop.db_path, job_id, digest=digest, ending=ending_of(name), part=part, most=len(before.photos))


def ending_of(name: str) -> str:
    """The ending of a file's name.

    >>> ending_of("photo-1.jpg")
    '.jpg'
    """
    return name[name.rindex(".") :]


def _linked(source: os.PathLike[str], target: os.PathLike[str]) -> None:
    try:
        os.link(source, target)
    except FileNotFoundError:
        raise
    except OSError:  # a file system without links
        shutil.copyfile(source, target)
