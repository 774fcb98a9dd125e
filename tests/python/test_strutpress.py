"""Test the Python package against the program itself, and against closed forms: run by `make python-test`."""

import json
import math
import os
import subprocess
import tempfile
import threading
import unittest
from pathlib import Path

import numpy as np

import strutpress

PROGRAM = os.environ["STRUTPRESS"]
SMALL = {
    "coupon.width": "16 mm",
    "coupon.height": "14 mm",
    "infill.density": "15 %",
    "press.strain": "20 %",
    "press.steps": 20,
    "press.find_critical": "no",
}
CASE = """coupon: {width: 16 mm, height: 14 mm}
infill: {density: 15 %}
press: {strain: 20 %, steps: 20, find_critical: no}
"""


class Pressing(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.case = Path(cls.folder.name) / "small.yaml"
        cls.case.write_text(CASE)
        cls.result = strutpress.press(SMALL, seeds=1)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_the_curve_is_that_of_the_program(self):
        out = subprocess.run(
            [PROGRAM, "press", self.case, "--seeds", "1", "--format", "csv", "--quiet", "--out", Path(self.folder.name) / "o"],
            capture_output=True, text=True, check=True,
        ).stdout
        rows = np.genfromtxt(out.splitlines(), delimiter=",", names=True)
        self.assertEqual(len(rows), len(self.result.steps))
        np.testing.assert_allclose(self.result.force, rows["force_N"], rtol=1e-8, atol=1e-9)
        np.testing.assert_allclose(self.result.shortening, rows["shortening_mm"], rtol=1e-8)
        np.testing.assert_allclose(self.result.steps["stiffness"], rows["stiffness_N_per_mm"], rtol=1e-8)
        np.testing.assert_array_equal(self.result.steps["factorizations"], rows["factorizations"])

    def test_figures_are_those_of_the_program(self):
        out = subprocess.run(
            [PROGRAM, "press", self.case, "--seeds", "1", "--format", "json", "--quiet", "--out", Path(self.folder.name) / "o"],
            capture_output=True, text=True, check=True,
        ).stdout
        wanted = json.loads(out)["measures"]
        for name, got in self.result.measures.items():
            value = wanted.get(name, {}).get("value")
            if value is None:
                self.assertTrue(name not in wanted or math.isnan(got.value), name)
            else:
                self.assertAlmostEqual(got.value, value, delta=1e-9 * abs(value))
                self.assertEqual(got.unit, wanted[name]["unit"])

    def test_several_seeds_are_single_presses_side_by_side(self):
        settings = {"coupon.width": 12, "coupon.height": 10, "coupon.depth": 5, "press.strain": "10 %", "press.steps": 5,
                    "press.find_critical": "no"}
        whole = strutpress.press(settings, seeds=3)
        forces = []
        for number, seed in enumerate(whole.seeds):
            alone = strutpress.press({**settings, "flaws.seed": 1 + number}, seeds=1)
            self.assertTrue((seed.force == alone.force).all())
            forces.append(seed.figure("force_at 10 %").value)
        spread = whole.spread("force_at 10 %")
        self.assertEqual((spread.count, spread.unit), (3, "N"))
        self.assertEqual([spread.low, spread.median, spread.high], sorted(forces))
        self.assertTrue((whole.band["low"] <= whole.band["high"]).all() and len(whole.band) > 2)
        self.assertEqual(len(strutpress.press(settings, seeds=1).seeds), 1)
        self.assertEqual(len(strutpress.press(settings).seeds), 5)  # as many as `strutpress press`
        with self.assertRaises(strutpress.BadUsage):
            strutpress.press(settings, seeds=100)

    def test_a_figure_with_an_argument_lies_on_the_curve(self):
        figure = self.result.figure("force_at 2 mm")
        self.assertEqual(figure.unit, "N")
        self.assertAlmostEqual(figure.value, np.interp(2, self.result.shortening, self.result.force), delta=0.01 * figure.value)
        self.assertTrue(math.isnan(self.result.figure("force_at 90 %").value))
        with self.assertRaises(strutpress.BadUsage) as caught:
            self.result.figure("force_of 2 mm")
        self.assertIn("valid:", str(caught.exception))

    def test_arrays_are_views_that_keep_the_result(self):
        force = strutpress.press(SMALL, seeds=1).force
        copy = force.copy()
        strutpress.press(SMALL, seeds=1)
        np.testing.assert_array_equal(force, copy)
        self.assertFalse(force.flags.owndata)
        with self.assertRaises(ValueError):
            force[0] = 1

    def test_work_is_the_area_under_the_curve(self):
        steps = self.result.steps
        area = np.sum(np.diff(steps["shortening"]) * (steps["force"][1:] + steps["force"][:-1]) / 2)
        self.assertAlmostEqual(steps["work"][-1], area, delta=1e-2 * area)  # trapezoids over 20 steps

    def test_states_have_the_height_of_their_step(self):
        positions, struts = self.result.positions, self.result.struts
        self.assertEqual(positions.shape[2], 3)
        self.assertEqual(struts[-1].stop, positions.shape[1])
        height = np.ptp(positions[:, :, 1], axis=1)
        self.assertAlmostEqual(height[0] - height[-1], self.result.shortening[-1], delta=1e-6)

    def test_a_solid_block_between_sliding_platens_is_its_law(self):
        """Uniaxial stress of a neo-Hookean block in closed form (Treloar 1943): F = G A (1/l^2 - l)."""
        block = strutpress.press(
            {"infill.pattern": "solid", "infill.density": "100 %", "platens.hold": "sliding", "material.law": "neo-hookean",
             "material.modulus": "30 MPa", "press.strain": "40 %"}
        )
        area = 28 * 20 if block.settings["coupon.depth"] == "20 mm" else float("nan")
        height = float(block.settings["coupon.height"].split()[0])
        stretch = 1 - block.shortening / height
        np.testing.assert_allclose(block.force, 10 * area * (1 / stretch**2 - stretch), rtol=1e-6, atol=1e-9)

    def test_files_are_written(self):
        folder = Path(self.folder.name) / "written"
        self.result.write(folder)
        self.assertTrue((folder / "curve.csv").stat().st_size > 100)
        with self.assertRaises(strutpress.NotWritten):
            self.result.write("/proc/nothing/here")

    def test_listeners_hear_and_may_end_a_press(self):
        heard, told = [], []
        result = strutpress.press(SMALL, {"material.modulus": "20 MPa"}, warn=heard.append, progress=lambda share, text: told.append(share))
        self.assertEqual(result.stop, "target strain reached")
        self.assertTrue(told and all(0 <= share <= 1 for share in told))

        def stop(share, text):
            raise KeyboardInterrupt

        with self.assertRaises(KeyboardInterrupt):
            strutpress.press(SMALL, progress=stop)

    def test_presses_in_threads_are_alike(self):
        forces = []
        threads = [threading.Thread(target=lambda: forces.append(strutpress.press(SMALL, seeds=1).force.copy())) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for force in forces:
            np.testing.assert_array_equal(force, self.result.force)


class Failing(unittest.TestCase):
    def test_a_bad_value_has_file_and_line(self):
        with self.assertRaises(strutpress.BadCase) as caught:
            strutpress.Case.parse("coupon: {width: 28 mm}\ninfill:\n  density: 200 %\n", "pad.yaml")
        self.assertEqual((caught.exception.file, caught.exception.line), ("pad.yaml", 3))
        self.assertIn("valid:", str(caught.exception))
        self.assertIsInstance(caught.exception, ValueError)

    def test_an_unknown_key_is_named(self):
        with self.assertRaises(strutpress.BadCase) as caught:
            strutpress.Case({"infill.densty": "20 %"})
        self.assertIn("infill.density", str(caught.exception))

    def test_missing_files(self):
        for call in (lambda: strutpress.Case.read("/nowhere.yaml"), lambda: strutpress.Store("/nowhere.store")):
            with self.assertRaises(strutpress.NotRead) as caught:
                call()
            self.assertIn("/nowhere", str(caught.exception))
            self.assertIsInstance(caught.exception, OSError)

    def test_a_case_knows_its_values(self):
        case = strutpress.Case(SMALL)
        self.assertEqual(case["coupon.width"], "16 mm")
        self.assertEqual(strutpress.check(case)["infill.density"], "15 %")
        with self.assertRaises(KeyError):
            case["coupon.weight"]
        self.assertEqual(strutpress.parameters()["coupon.width"]["unit"], "mm")


class Studies(unittest.TestCase):
    def test_a_batch_fills_a_store_and_a_target_is_found(self):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "base.yaml").write_text(CASE)
            (folder / "plan.yaml").write_text("base: base.yaml\naxes:\n  infill.density: [15 %, 20 %]\n")
            report = strutpress.batch(folder / "plan.yaml", folder / "pads.store", threads=2)
            self.assertEqual((report["planned"], report["pressed"], report["failed"]), (2, 2, 0))
            self.assertEqual(strutpress.batch(folder / "plan.yaml", folder / "pads.store")["stored"], 2)
            with strutpress.Store(folder / "pads.store") as store:
                coupons = store.coupons()
                self.assertEqual(sorted(float(c.settings["infill.density"]) for c in coupons), [0.15, 0.2])
                stiffness = store.values("initial_stiffness")
                curves = {c.id: store.curve(c.id) for c in coupons}
            thin, thick = sorted(coupons, key=lambda c: float(c.settings["infill.density"]))
            self.assertLess(stiffness[thin.id], stiffness[thick.id])
            pressed = strutpress.press(folder / "base.yaml", seeds=1)
            np.testing.assert_allclose(curves[thin.id]["force"], pressed.force, rtol=1e-12)

            (folder / "target.yaml").write_text(
                "base: base.yaml\nvary:\n  infill.density: {from: 12 %, to: 30 %, within: 1 %}\n"
                "require:\n  force_at 2 mm: {at_least: 10 N}\nsave: mass\nseeds: 1\n"
            )
            answer = strutpress.seek(folder / "target.yaml", folder / "seek.store", folder / "answer")
            self.assertEqual(answer["reached"], 1)
            self.assertTrue((folder / "answer" / "seek.csv").exists())
            with self.assertRaises(strutpress.BadCase):
                strutpress.seek(folder / "plan.yaml", folder / "seek.store", folder / "answer")

    def test_the_modulus_that_was_pressed_is_found_again(self):
        """Curves of two coupons pressed with 17 MPa stand for those of a rig; a third one is predicted."""
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "base.yaml").write_text(CASE)
            for density in (15, 25):
                pressed = strutpress.press(folder / "base.yaml", {"infill.density": f"{density} %", "material.modulus": "17 MPa"}, seeds=1)
                np.savetxt(folder / f"rig-{density}.csv", np.column_stack([pressed.shortening, pressed.force])[1:], delimiter=",")
            (folder / "tested.yaml").write_text(
                "base: base.yaml\nfit:\n  material.modulus: {from: 5 MPa, to: 60 MPa, within: 0.1 MPa}\n"
                "tested:\n  - {infill.density: 15 %, curve: rig-15.csv}\n  - {infill.density: 25 %, curve: rig-25.csv}\n"
                "predict:\n  - {infill.density: 20 %}\n"
            )
            heard = []
            answer = strutpress.calibrate(folder / "tested.yaml", folder / "pads.store", folder / "fit", progress=lambda share, text: heard.append(share))
            fitted = strutpress.check(folder / "fit" / "calibrated.yaml")["material.modulus"]
            self.assertAlmostEqual(float(fitted.split()[0]), 17, delta=0.1)
            self.assertTrue(answer and heard and (folder / "fit" / "curves.svg").exists())
            with self.assertRaises(strutpress.BadCase) as caught:
                (folder / "slip.yaml").write_text("base: base.yaml\ntested:\n  - {infill.densty: 15 %, curve: rig-15.csv}\n")
                strutpress.calibrate(folder / "slip.yaml", folder / "pads.store", folder / "fit")
            self.assertEqual((Path(caught.exception.file).name, caught.exception.line), ("slip.yaml", 3))


if __name__ == "__main__":
    unittest.main()
