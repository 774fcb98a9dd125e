"""Many presses: plans and stores, a search for the coupon that meets a target, a fit to tested coupons."""

from __future__ import annotations

import ctypes
import json
from ctypes import byref, c_int, c_void_p
from os import PathLike, fspath
from pathlib import Path
from typing import Any, Callable, NamedTuple, Optional, Union

import numpy as np
from numpy.typing import NDArray

from ._library import CURVE_POINT, VISIT, VISIT_VALUE, BatchReport, Call, library

Text = Union[str, "PathLike[str]"]
Progress = Optional[Callable[[float, str], None]]
_READ, _WRITE = 0, 1


class Coupon(NamedTuple):
    """One coupon of a store. `settings` are its resolved values in mm, N, MPa and fractions; `outcome` 0: pressed to its end, 8: ended
    early, else there is no curve and `reason` says why."""

    id: int
    settings: dict[str, str]
    flaw_seed: int
    outcome: int
    reason: str
    cautions: str


class Store:
    """Pressed coupons in one file. Opened to read; `with` closes it. Raises NotRead."""

    def __init__(self, file: Text, write: bool = False) -> None:
        handle = c_void_p()
        self._handle: Optional[int] = None
        Call()("sp_store_open", fspath(file).encode(), _WRITE if write else _READ, byref(handle))
        self._handle = handle.value

    def coupons(self) -> list[Coupon]:
        """All coupons, with the replicates of a coupon one after the other."""
        found: list[Coupon] = []

        def visit(_: Any, stored: Any) -> int:
            row = stored.contents
            lines = (line.split(" ", 1) for line in row.text.decode().splitlines())
            found.append(
                Coupon(
                    row.id,
                    {line[0]: line[1] if len(line) > 1 else "" for line in lines},
                    row.flaw_seed,
                    row.outcome,
                    row.reason.decode(),
                    row.cautions.decode(),
                )
            )
            return 0

        Call()("sp_store_each", self._handle, VISIT(visit), None)
        return found

    def values(self, measure: str) -> dict[int, float]:
        """The values of one measure, by the ids of the coupons that reach it."""
        found: dict[int, float] = {}

        def visit(_: Any, id: int, value: float) -> int:
            found[id] = value
            return 0

        Call()("sp_store_each_value", self._handle, measure.encode(), VISIT_VALUE(visit), None)
        return found

    def curve(self, id: int) -> NDArray:
        """The curve of a coupon: a record array of strain, stress [MPa], shortening [mm], force [N], work [mJ]."""
        count, points = c_int(), c_void_p()
        Call()("sp_store_curve", self._handle, id, byref(count), byref(points))
        kind = np.dtype([(name, np.double) for name in CURVE_POINT])
        copy = np.zeros(count.value, kind)
        if count.value:
            ctypes.memmove(copy.ctypes.data, points.value, copy.nbytes)
        library.sp_store_free_curve(points)
        return copy

    def close(self) -> None:
        if self._handle:
            library.sp_store_close(self._handle)
            self._handle = None

    def __enter__(self) -> "Store":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __del__(self) -> None:
        if getattr(self, "_handle", None):
            self.close()


def batch(plan: Text, store: Text, threads: int = 0, warn: Optional[Callable[[str], None]] = None, progress: Progress = None) -> dict[str, int]:
    """Press every coupon of a plan file into a store; what it holds already is not pressed again. Returns how many were planned, stored
    before, pressed, failed, ended early. Raises BadCase, NotRead, NotWritten, Interrupted."""
    handle, report = c_void_p(), BatchReport()
    Call()("sp_plan_read", fspath(plan).encode(), byref(handle))
    try:
        with Store(store, write=True) as kept:
            Call(warn, progress)("sp_batch_press", handle, kept._handle, threads, byref(report))
    finally:
        library.sp_plan_free(handle)
    return {name: getattr(report, name) for name, _ in BatchReport._fields_}


def _study(kind: str, file: Text, store: Text, out: Text, threads: int, progress: Progress) -> dict[str, Any]:
    read, run, write, free, free_input, answer_file = {
        "seek": ("sp_target_read", "sp_seek", "sp_answer_write", library.sp_answer_free, library.sp_target_free, "seek.json"),
        "calibrate": (
            "sp_tested_read",
            "sp_calibrate",
            "sp_calibration_write",
            library.sp_calibration_free,
            library.sp_tested_free,
            "calibrate.json",
        ),
    }[kind]
    asked, answer = c_void_p(), c_void_p()
    Call()(read, fspath(file).encode(), byref(asked))
    try:
        with Store(store, write=True) as kept:
            Call(progress=progress)(run, asked, kept._handle, threads, byref(answer))
            Call()(write, answer, fspath(out).encode())
            free(answer)
    finally:
        free_input(asked)
    return json.loads((Path(fspath(out)) / answer_file).read_text())


def seek(target: Text, store: Text, out: Text, threads: int = 0, progress: Progress = None) -> dict[str, Any]:
    """Find the coupons that meet a target file with the least material; files go into the folder `out`. Returns seek.json. Raises BadCase,
    NotRead, NotWritten, Interrupted."""
    return _study("seek", target, store, out, threads, progress)


def calibrate(tested: Text, store: Text, out: Text, threads: int = 0, progress: Progress = None) -> dict[str, Any]:
    """Fit values of a case to tested coupons and predict others; files go into the folder `out`. Returns calibrate.json. Raises BadCase,
    NotRead, NotWritten, GaveUp, Interrupted."""
    return _study("calibrate", tested, store, out, threads, progress)
