"""A case, and the result of pressing it."""

from __future__ import annotations

import ctypes
from ctypes import byref, c_char_p, c_int, c_size_t, c_void_p
from os import PathLike, fspath
from typing import Callable, Iterator, Mapping, NamedTuple, Optional, Union

import numpy as np
from numpy.typing import NDArray

from ._library import Call, Measure, SpreadOf, library

Text = Union[str, "PathLike[str]"]


class Figure(NamedTuple):
    """A figure of a curve; `value` is NaN where the curve does not get there or the case does not model it."""

    value: float
    unit: str


class Spread(NamedTuple):
    """A figure over several flaw seeds; NaN where no seed reaches it."""

    count: int
    median: float
    low: float
    high: float
    unit: str


def parameters() -> dict[str, dict[str, str]]:
    """Every key of a case file, with unit, meaning, range and default as text."""
    rows = (library.sp_parameter_at(i) for i in range(library.sp_parameter_count()))
    return {
        row.key.decode(): {
            "unit": row.unit.decode(),
            "doc": row.doc.decode(),
            "range": row.range.decode(),
            "default": row.fallback.decode(),
        }
        for row in rows
    }


class Case:
    """A coupon and how it is pressed. Values are set as in a case file: case["infill.density"] = "20 %".

    Raises BadCase with file, line, the value received and what would be valid.
    """

    def __init__(self, settings: Optional[Mapping[str, object]] = None) -> None:
        self._handle: Optional[int] = library.sp_case_new()
        if not self._handle:
            raise MemoryError("no memory for a case")
        for key, value in (settings or {}).items():
            self[key] = value

    @classmethod
    def read(cls, file: Text, settings: Optional[Mapping[str, object]] = None) -> "Case":
        """Read a case file (YAML); `settings` take the place of values in it."""
        case = cls()
        Call()("sp_case_read", fspath(file).encode(), case._handle)
        for key, value in (settings or {}).items():
            case[key] = value
        return case

    @classmethod
    def parse(cls, text: str, name: str = "case") -> "Case":
        """Read a case from text; `name` stands in messages."""
        case, data = cls(), text.encode()
        Call()("sp_case_parse", name.encode(), data, len(data), case._handle)
        return case

    def __setitem__(self, key: str, value: object) -> None:
        Call()("sp_case_set", self._handle, key.encode(), str(value).encode())

    def _row(self, key: str) -> int:
        for row in range(library.sp_parameter_count()):
            if library.sp_parameter_at(row).key.decode() == key:
                return row
        raise KeyError(key)

    def __getitem__(self, key: str) -> str:
        """Return the value with its unit, "not given" where there is none."""
        return _value_of(self._handle, self._row(key))

    def __iter__(self) -> Iterator[str]:
        return iter(parameters())

    def __del__(self) -> None:
        if getattr(self, "_handle", None):
            library.sp_case_free(self._handle)
            self._handle = None


def _value_of(handle: Optional[int], row: int) -> str:
    text = ctypes.create_string_buffer(4096)
    library.sp_case_value_text(handle, row, text, len(text))
    return text.value.decode()


def _step_type() -> np.dtype:
    """The members of a step at their places, as the library itself names them."""
    count, stride = c_int(), c_size_t()
    columns = library.sp_step_columns(byref(count), byref(stride))
    rows = [columns[i] for i in range(count.value)]
    return np.dtype(
        {
            "names": [row.name.decode() for row in rows],
            "formats": [np.intc if row.is_whole else np.double for row in rows],
            "offsets": [row.offset for row in rows],
            "itemsize": stride.value,
        }
    )


STEP = _step_type()
BAND = np.dtype([(name, np.double) for name in ("strain", "median", "low", "high")])


class Result:
    """A pressed coupon. Arrays are views of the result: nothing is copied, and they keep it alive."""

    def __init__(self, handle: int) -> None:
        self._handle: Optional[int] = handle

    def _view(self, address: Optional[int], shape: tuple[int, ...], kind: np.dtype) -> NDArray:
        size = int(np.prod(shape)) * kind.itemsize
        if not address or not size:
            return np.zeros(shape, kind)
        memory = (ctypes.c_char * size).from_address(address)
        memory.result = self  # type: ignore[attr-defined]
        view = np.frombuffer(memory, kind).reshape(shape)
        view.flags.writeable = False
        return view

    @property
    def steps(self) -> NDArray:
        """Accepted states, the unloaded one first: a record array with force [N], shortening [mm] and the other members of STEP."""
        count = c_int()
        return self._view(library.sp_result_steps(self._handle, byref(count)), (count.value,), STEP)

    @property
    def back(self) -> NDArray:
        """States of the way back, or of what follows the first segment of a protocol."""
        count = c_int()
        return self._view(library.sp_result_back(self._handle, byref(count)), (count.value,), STEP)

    @property
    def force(self) -> NDArray[np.double]:
        """Platen force [N] of the steps."""
        return self.steps["force"]

    @property
    def shortening(self) -> NDArray[np.double]:
        """Platen travel [mm] of the steps."""
        return self.steps["shortening"]

    @property
    def measures(self) -> dict[str, Figure]:
        """Every figure by name; docs/reference.md says what each is."""
        count, rows = c_int(), c_int()
        got = library.sp_result_measures(self._handle, byref(count))
        row = library.sp_measure_rows(byref(rows))
        return {
            row[i].name.decode(): Figure(got[i].value if got[i].reached else float("nan"), row[i].unit.decode())
            for i in range(min(count.value, rows.value))
        }

    def figure(self, text: str) -> Figure:
        """One figure by its text, with its argument: "force_at 25 %", "shortening_at 300 N"."""
        value, unit = Measure(), c_char_p()
        Call()("sp_result_figure", self._handle, text.encode(), byref(value), byref(unit))
        return Figure(value.value if value.reached else float("nan"), (unit.value or b"").decode())

    @property
    def seeds(self) -> "list[Result]":
        """The presses of all flaw seeds, including this one; a single press has one."""
        kept = c_int()
        count = library.sp_result_seeds(self._handle, byref(kept))
        return [self if k == kept.value else _Seed(library.sp_result_of_seed(self._handle, k), self) for k in range(count)]

    def spread(self, text: str) -> Spread:
        """A figure over the flaw seeds that reach it."""
        spread, unit = SpreadOf(), c_char_p()
        Call()("sp_result_spread", self._handle, text.encode(), byref(spread), byref(unit))
        return Spread(spread.count, spread.median, spread.low, spread.high, (unit.value or b"").decode())

    @property
    def band(self) -> NDArray:
        """Force over the flaw seeds at evenly spaced strains, as far as all of them go: strain, median, low and high [N]; empty after one."""
        count = c_int()
        return self._view(library.sp_result_band(self._handle, byref(count)), (count.value,), BAND)

    @property
    def positions(self) -> NDArray[np.double]:
        """Centrelines of the kept states [mm]: states x points x 3."""
        frames, points = c_int(), c_int()
        address = library.sp_result_positions(self._handle, byref(frames), byref(points))
        return self._view(address, (frames.value, points.value, 3), np.dtype(np.double))

    @property
    def struts(self) -> list[slice]:
        """The points of each strut in `positions`."""
        count = c_int()
        address = library.sp_result_first_points(self._handle, byref(count))
        first = self._view(address, (count.value + 1,), np.dtype(np.intc))
        return [slice(int(first[s]), int(first[s + 1])) for s in range(count.value)]

    @property
    def settings(self) -> dict[str, str]:
        """The case as it was pressed, each value with its unit."""
        case = library.sp_result_case(self._handle)
        return {key: _value_of(case, row) for row, key in enumerate(parameters())}

    @property
    def stop(self) -> str:
        """How the press ended, for example "target strain reached"."""
        return library.sp_stop_text(library.sp_result_stop(self._handle)).decode()

    @property
    def reason(self) -> str:
        """One line that says why a press ended early, else empty."""
        return library.sp_result_reason(self._handle).decode()

    def write(self, folder: Text) -> None:
        """Write the files of a press (curve.csv, result.json, pictures) into a folder, all or none. Raises NotWritten."""
        Call()("sp_write_all", self._handle, fspath(folder).encode())

    def __del__(self) -> None:
        if getattr(self, "_handle", None):
            library.sp_result_free(self._handle)
            self._handle = None


class _Seed(Result):
    """One seed of several: it belongs to the result of all seeds, and keeps that alive."""

    def __init__(self, handle: int, whole: Result) -> None:
        super().__init__(handle)
        self._whole = whole

    def __del__(self) -> None:
        self._handle = None


def press(
    case: Union[Case, Text, Mapping[str, object]],
    settings: Optional[Mapping[str, object]] = None,
    warn: Optional[Callable[[str], None]] = None,
    progress: Optional[Callable[[float, str], None]] = None,
    seeds: int = 0,
) -> Result:
    """Press one coupon: a Case, the name of a case file, or settings by key.

    `seeds`: so many seeds of its flaws, from flaws.seed on, on all cores; 0 as many as `strutpress press` does: press.seeds, or five, or one
    where a press is forecast to take over a minute. The result is that of the seed that the case names, else of the one nearest the medians;
    `Result.seeds` are all, `Result.spread` and `Result.band` say how far they are apart. 1: one press, at the least cost.

    `warn` hears the cautions, line by line; `progress` the share of the expected time in 0..1 and what is done. A press that ends before
    its target is a result, see `Result.stop`. Other threads of the program run meanwhile. Raises BadCase, BadNetwork, NotRead, NoMemory.
    """
    if isinstance(case, Case):
        for key, value in (settings or {}).items():
            case[key] = value
    elif isinstance(case, Mapping):
        case = Case({**case, **(settings or {})})
    else:
        case = Case.read(case, settings)
    handle = c_void_p()
    if seeds == 1:
        Call(warn, progress)("sp_run", case._handle, byref(handle))
    else:
        Call(warn, progress)("sp_run_seeds", case._handle, seeds, byref(handle))
    assert handle.value is not None
    return Result(handle.value)


def check(case: Union[Case, Text, Mapping[str, object]], settings: Optional[Mapping[str, object]] = None) -> dict[str, str]:
    """Return every value of a case with its unit, if all are valid together. Raises BadCase."""
    if not isinstance(case, Case):
        case = Case({**case, **(settings or {})}) if isinstance(case, Mapping) else Case.read(case, settings)
    Call()("sp_case_check", case._handle)
    return {key: _value_of(case._handle, row) for row, key in enumerate(parameters())}
