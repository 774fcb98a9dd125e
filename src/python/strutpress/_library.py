"""The shared library and what its functions take: nothing else in the package knows ctypes."""

from __future__ import annotations

import ctypes
import os
from ctypes import POINTER, Structure, byref, c_char, c_char_p, c_double, c_int, c_longlong, c_size_t, c_void_p
from pathlib import Path
from typing import Any, Callable, Optional

MESSAGE_SIZE = 768
KEY_SIZE = 33
COUPON_TEXT_SIZE = 16384

TALK = ctypes.CFUNCTYPE(None, c_void_p, c_char_p)
PROGRESS = ctypes.CFUNCTYPE(None, c_void_p, c_double, c_char_p)


class Context(Structure):
    """The struct sp_context: the failure line, the interrupt flag, and the functions that the library calls."""

    _fields_ = [
        ("message", c_char * MESSAGE_SIZE),
        ("interrupt", POINTER(c_int)),
        ("writing", POINTER(c_int)),
        ("warn", TALK),
        ("progress", PROGRESS),
        ("left", c_void_p),
        ("say", TALK),
        ("accepted", c_void_p),
        ("user", c_void_p),
    ]


class Measure(Structure):
    _fields_ = [("reached", c_int), ("value", c_double)]


class SpreadOf(Structure):
    _fields_ = [("count", c_int), ("median", c_double), ("low", c_double), ("high", c_double)]


class StepColumn(Structure):
    _fields_ = [("name", c_char_p), ("unit", c_char_p), ("offset", c_size_t), ("is_whole", c_int)]


class MeasureRow(Structure):
    _fields_ = [
        ("name", c_char_p),
        ("unit", c_char_p),
        ("doc", c_char_p),
        ("take", c_void_p),
        ("figure", c_void_p),
        ("strain", c_double),
    ]


class Parameter(Structure):
    _fields_ = [(name, c_char_p) for name in ("key", "unit", "doc", "range", "fallback")]


class BatchReport(Structure):
    _fields_ = [
        (name, c_int) for name in ("planned", "stored", "pressed", "failed", "ended", "not_stored", "threads")
    ]


class Stored(Structure):
    _fields_ = [
        ("id", c_longlong),
        ("key", c_char_p),
        ("family", c_char_p),
        ("program", c_char_p),
        ("text", c_char_p),
        ("reason", c_char_p),
        ("cautions", c_char_p),
        ("flaw_seed", c_int),
        ("outcome", c_int),
    ]


VISIT = ctypes.CFUNCTYPE(c_int, c_void_p, POINTER(Stored))
VISIT_VALUE = ctypes.CFUNCTYPE(c_int, c_void_p, c_longlong, c_double)

CURVE_POINT = ("strain", "stress", "shortening", "force", "work")

P = c_void_p  # a structure that only the library knows
C = POINTER(Context)

# The name of each function, with the type that it returns and those that it takes.
_FUNCTIONS: dict[str, tuple[Any, list[Any]]] = {
    "sp_version": (c_char_p, []),
    "sp_status_text": (c_char_p, [c_int]),
    "sp_status_exit": (c_int, [c_int]),
    "sp_case_new": (P, []),
    "sp_case_free": (None, [P]),
    "sp_case_read": (c_int, [C, c_char_p, P]),
    "sp_case_parse": (c_int, [C, c_char_p, c_char_p, c_size_t, P]),
    "sp_case_set": (c_int, [C, P, c_char_p, c_char_p]),
    "sp_case_check": (c_int, [C, P]),
    "sp_case_value_text": (None, [P, c_int, c_char_p, c_size_t]),
    "sp_parameter_count": (c_int, []),
    "sp_parameter_at": (Parameter, [c_int]),
    "sp_run": (c_int, [C, P, POINTER(P)]),
    "sp_run_seeds": (c_int, [C, P, c_int, POINTER(P)]),
    "sp_result_seeds": (c_int, [P, POINTER(c_int)]),
    "sp_result_of_seed": (P, [P, c_int]),
    "sp_result_spread": (c_int, [C, P, c_char_p, POINTER(SpreadOf), POINTER(c_char_p)]),
    "sp_result_band": (P, [P, POINTER(c_int)]),
    "sp_result_free": (None, [P]),
    "sp_result_stop": (c_int, [P]),
    "sp_stop_text": (c_char_p, [c_int]),
    "sp_result_reason": (c_char_p, [P]),
    "sp_result_steps": (P, [P, POINTER(c_int)]),
    "sp_result_back": (P, [P, POINTER(c_int)]),
    "sp_result_case": (P, [P]),
    "sp_result_measures": (POINTER(Measure), [P, POINTER(c_int)]),
    "sp_result_figure": (c_int, [C, P, c_char_p, POINTER(Measure), POINTER(c_char_p)]),
    "sp_result_positions": (P, [P, POINTER(c_int), POINTER(c_int)]),
    "sp_result_first_points": (P, [P, POINTER(c_int)]),
    "sp_result_frame_steps": (P, [P, POINTER(c_int)]),
    "sp_step_columns": (POINTER(StepColumn), [POINTER(c_int), POINTER(c_size_t)]),
    "sp_measure_rows": (POINTER(MeasureRow), [POINTER(c_int)]),
    "sp_write_all": (c_int, [C, P, c_char_p]),
    "sp_plan_read": (c_int, [C, c_char_p, POINTER(P)]),
    "sp_plan_count": (c_int, [P]),
    "sp_plan_free": (None, [P]),
    "sp_store_open": (c_int, [C, c_char_p, c_int, POINTER(P)]),
    "sp_store_close": (None, [P]),
    "sp_store_each": (c_int, [C, P, VISIT, c_void_p]),
    "sp_store_each_value": (c_int, [C, P, c_char_p, VISIT_VALUE, c_void_p]),
    "sp_store_curve": (c_int, [C, P, c_longlong, POINTER(c_int), POINTER(P)]),
    "sp_store_free_curve": (None, [P]),
    "sp_batch_press": (c_int, [C, P, P, c_int, POINTER(BatchReport)]),
    "sp_target_read": (c_int, [C, c_char_p, POINTER(P)]),
    "sp_target_free": (None, [P]),
    "sp_seek": (c_int, [C, P, P, c_int, POINTER(P)]),
    "sp_answer_write": (c_int, [C, P, c_char_p]),
    "sp_answer_free": (None, [P]),
    "sp_tested_read": (c_int, [C, c_char_p, POINTER(P)]),
    "sp_tested_free": (None, [P]),
    "sp_calibrate": (c_int, [C, P, P, c_int, POINTER(P)]),
    "sp_calibration_write": (c_int, [C, P, c_char_p]),
    "sp_calibration_free": (None, [P]),
}


def _candidates() -> list[str]:
    """List where the library may be: as named, beside the installed package, or where the system looks."""
    named = os.environ.get("STRUTPRESS_LIBRARY")
    if named:
        return [named]
    here = Path(__file__).resolve()
    beside = sorted(str(file) for folder in here.parents for file in folder.glob("libstrutpress.so.*"))
    return beside + ["libstrutpress.so"]


def _load() -> ctypes.CDLL:
    failures = []
    for name in _candidates():
        try:
            return ctypes.CDLL(name)
        except OSError as failure:
            failures.append(str(failure))
    raise ImportError(
        "libstrutpress.so cannot be loaded; valid: `make install`, or STRUTPRESS_LIBRARY=FILE (" + "; ".join(failures) + ")"
    )


library = _load()
for _name, (_returned, _taken) in _FUNCTIONS.items():
    _function = getattr(library, _name)
    _function.restype, _function.argtypes = _returned, _taken


class Call:
    """Make one call into the library, with its context, the receiver of its cautions, and its failure as an exception."""

    def __init__(
        self,
        warn: Optional[Callable[[str], None]] = None,
        progress: Optional[Callable[[float, str], None]] = None,
    ) -> None:
        self.context = Context()
        self.interrupt = c_int(0)
        self.context.interrupt = ctypes.pointer(self.interrupt)
        self._raised: Optional[BaseException] = None
        # They are kept here, so that the library can call them as long as this object lives.
        self._warn = TALK(lambda _, line: self._run(warn, line.decode())) if warn else TALK()
        # This one is always set: Python sees a Ctrl-C only while it runs, and it runs when the library reports progress.
        listener = progress or (lambda share, text: None)
        self._progress = PROGRESS(lambda _, share, text: self._run(listener, share, text.decode()))
        self.context.warn, self.context.progress = self._warn, self._progress

    def _run(self, heard: Callable[..., None], *arguments: Any) -> None:
        """An exception in a function that the library calls ends the press, and is raised again where the call was made."""
        try:
            heard(*arguments)
        except BaseException as raised:  # also KeyboardInterrupt
            self._raised = self._raised or raised
            self.interrupt.value = 1

    def __call__(self, name: str, *arguments: Any) -> None:
        from .errors import failure_of

        status = getattr(library, name)(byref(self.context), *arguments)
        if self._raised is not None:
            raise self._raised
        if status:
            raise failure_of(status, self.context.message.decode())
