"""How stiff a foot becomes with its density: the workshop's soft foot in five densities, drawn as curves and as the stiffness at
first touch.

    python3 docs/demo/feet.py FOLDER        writes FOLDER/feet.svg

A notebook may hold the same lines. Needs the package `strutpress` (make install), NumPy and
matplotlib.
"""

import sys
from pathlib import Path

import matplotlib

matplotlib.use("svg")
import matplotlib.pyplot as plt

import strutpress

folder = Path(sys.argv[1] if len(sys.argv) > 1 else ".")
densities = [10, 12, 15, 18, 22]
case = Path(__file__).parent / "foot-soft.yaml"

figure, (left, right) = plt.subplots(1, 2, figsize=(9, 4), layout="constrained")
stiffness = []
for density in densities:
    result = strutpress.press(case, {"infill.density": f"{density} %", "press.find_critical": "no", "press.strain": "60 %"})
    height = float(result.settings["coupon.height"].split()[0])
    left.plot(100 * result.shortening / height, result.force, label=f"{density} %")
    stiffness.append(result.measures["initial_stiffness"].value)
    print(f"{density} %: {result.figure('force_at 25 %').value:.1f} N at 25 %, {result.stop}")

left.set(xlabel="shortening [% of the height]", ylabel="force [N]", ylim=(0, 120), title="Soft foot, five densities")
left.legend(title="density")
right.plot(densities, stiffness, "o-")
right.set(xlabel="density [%]", ylabel="stiffness at first touch [N/mm]", ylim=(0, None), title="It starts as stiff as its walls")
figure.savefig(folder / "feet.svg")
