"""Strutpress for scripts: press printed infill coupons, and read their curves as NumPy arrays.

    import strutpress
    result = strutpress.press("foot.yaml", {"infill.density": "20 %"})
    result.force, result.shortening          # arrays that view the result
    result.figure("force_at 25 %").value     # N
    with strutpress.Store("feet.store") as store:
        curves = [store.curve(coupon.id) for coupon in store.coupons()]

Units are mm, N, MPa and mJ; strains are fractions. Results are predictions for choosing coupons to print and test, not proof of a part
that protects anybody.
"""

from ._library import library as _library
from .errors import BadCase, BadNetwork, BadUsage, Conflict, Failure, GaveUp, Interrupted, NoMemory, NotRead, NotWritten
from .press import STEP, Case, Figure, Result, Spread, check, parameters, press
from .study import Coupon, Store, batch, calibrate, seek

__version__ = _library.sp_version().decode()
__all__ = [
    "BadCase", "BadNetwork", "BadUsage", "Case", "Conflict", "Coupon", "Failure", "Figure", "GaveUp", "Interrupted", "NoMemory",
    "NotRead", "NotWritten", "Result", "STEP", "Spread", "Store", "batch", "calibrate", "check", "parameters", "press", "seek",
]
