"""The field of a rise, read back by VTK's own reader."""

import csv
import pathlib
import sys
import unittest

import numpy
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkIOXML import vtkXMLImageDataReader

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import Case, box, stl

STIFF = ("name = stiff\nclass = rigid\nliquid density = 1100 kg/m3\nfree-rise density = 60 kg/m3\nviscosity = 20 Pa s\na to b = 100:100\n"
         "cream = 45 s\ngel = 120 s\nrise = 140 s\ngel cap = 1000\npack = 1.3 to 1.3\n")


class Field(Case):
    def rise(self, triangles, *words, cube=10):
        """The result, the image, and its arrays by name, x fastest."""
        field = self.path("field.vti")
        result = self.result((0, 1), "rise", self.mesh(triangles), "--field", field, "--cube", cube, "--void-ok", "0", *words)
        reader = vtkXMLImageDataReader()
        reader.SetFileName(field)
        reader.Update()
        image = reader.GetOutput()
        data = image.GetCellData()
        return result, image, {data.GetArrayName(i): vtk_to_numpy(data.GetArray(i)) for i in range(data.GetNumberOfArrays())}

    def test_every_value_is_where_it_belongs(self):
        result, image, array = self.rise(box((120, 80, 40), (500, -30, 7)), "--foam", "rigid-40", "--vent", "560,10,47")
        self.assertEqual(set(array), {"arrival_s", "pressure_kpa", "half_gap_mm", "cavity", "void_id"})
        self.assertEqual(image.GetSpacing(), (10, 10, 10))
        cells = numpy.array(image.GetDimensions()) - 1
        self.assertEqual(cells.prod(), len(array["cavity"]))
        origin = numpy.array(image.GetOrigin())
        at = numpy.stack(numpy.meshgrid(*(numpy.arange(n) for n in cells), indexing="ij"), -1).transpose(2, 1, 0, 3).reshape(-1, 3)
        centre = origin + 10 * (at + 0.5)
        inside = ((centre > (500, -30, 7)) & (centre < (620, 50, 47))).all(1)
        self.assertEqual(inside.sum(), 12 * 8 * 4)
        numpy.testing.assert_array_equal(array["cavity"], inside)
        for name in ("arrival_s", "pressure_kpa", "half_gap_mm"):
            self.assertTrue(numpy.isnan(array[name][~inside]).all())
        outcome = result["cavities"][0]["outcome"]
        # A pocket under the lid, all of one kind, at the pressure and near the place that is told.
        void = outcome["trapped"][0]
        held = array["void_id"] == 1
        self.assertGreater(held.sum(), 0)
        self.assertTrue((array["void_id"][~inside] == 0).all())
        numpy.testing.assert_allclose(array["pressure_kpa"][held], void["kpa"], rtol=1e-6)
        self.assertLess(numpy.abs(centre[held] - void["at_mm"]).max(1).min(), 10)
        self.assertEqual(set(array["void_id"]), set(range(len(outcome["trapped"]) + 1)))
        last = numpy.nanargmax(array["arrival_s"])
        numpy.testing.assert_allclose(centre[last], outcome["last_reached_mm"], atol=1e-6)
        self.assertAlmostEqual(numpy.nanmax(array["half_gap_mm"]), 20, delta=0.2)

    def test_two_cavities_without_a_card_have_shares_and_no_pressure(self):
        result, image, array = self.rise(box((60, 50, 40)) + box((60, 50, 40), (80, 0, 0)), "--vent", "30,25,40", "--vent", "110,25,40")
        self.assertEqual(set(array), {"arrival_share", "half_gap_mm", "cavity", "void_id"})
        self.assertEqual(set(array["cavity"]), {0, 1, 2})
        share = array["arrival_share"][array["cavity"] > 0]
        self.assertTrue(((share >= 0) & (share <= 1) | numpy.isnan(share)).all())

    def test_what_foam_never_reached_is_told_from_what_it_shut_in(self):
        """Round an insert, too thick from gel on to get to the end of the two ways; and the moments of all that it reached."""
        card, pin, table = self.file("stiff.card", STIFF), self.file("pin.stl", stl(box((60, 40, 50), (30, 20, -10)))), self.path("series.csv")
        result, image, array = self.rise(box((120, 80, 30)), "--foam", card, "--insert", pin, "--pour", "10,40,0", "--vent", "120,40,30",
                                         "--series", table, cube=4)
        outcome, cube_cm3 = result["cavities"][0]["outcome"], 0.064
        inside = array["cavity"] == 1
        cubes = (120 * 80 - 60 * 40) * 30 / 64
        self.assertLess(abs(inside.sum() / cubes - 1), 0.07)  # 30 mm are 7.5 cubes
        empty = array["void_id"] == -1
        never = numpy.isnan(array["arrival_s"])
        self.assertTrue((empty | (array["void_id"] > 0))[never & inside].all())  # foam or air: nothing is neither
        self.assertGreater(outcome["short_cm3"], 10)
        self.assertGreater(outcome["short_cm3"], (empty & never).sum() * cube_cm3 / 2)  # each is more than half empty
        self.assertLess(outcome["short_cm3"], empty.sum() * cube_cm3)
        self.assertAlmostEqual(array["pressure_kpa"][empty].max(), array["pressure_kpa"][empty].min(), delta=1e-6)
        self.assertGreater(array["pressure_kpa"][inside & ~never].max(), array["pressure_kpa"][empty].max())
        # As many cubes as have been reached, so full it is: but for the cubes at the front.
        with open(table, newline="") as file:
            rows = [(float(row["time_s"]), float(row["filled"])) for row in csv.DictReader(file)]
        for share in (0.25, 0.5, 0.75):
            at, filled = next(row for row in rows if row[1] >= share)
            self.assertLess(abs((array["arrival_s"][inside] <= at).mean() - filled), 0.02)

    def test_where_fronts_meet_they_arrive_then(self):
        card, pin = self.file("soft.card", STIFF.replace("1000", "10")), self.file("pin.stl", stl(box((60, 40, 50), (30, 20, -10))))
        result, image, array = self.rise(box((120, 80, 30)), "--foam", card, "--insert", pin, "--pour", "10,40,0", "--vent", "120,40,30", cube=4)
        (meet,) = result["meets"]
        wide, deep, _ = (n - 1 for n in image.GetDimensions())
        x, y, z = (round((a - o) / 4 - 0.5) for a, o in zip(meet["at_mm"], image.GetOrigin()))
        here = x + wide * (y + deep * z)
        arrival = array["arrival_s"]
        # at the face between that cube and the next one along some axis, when the later of them is reached
        later = [float(max(arrival[here], arrival[here + step])) for step in (1, wide, wide * deep)]
        self.assertLess(min(abs(s - meet["s"]) for s in later), 1e-9)

    def test_a_cavity_risen_alone_has_the_number_of_the_file(self):
        _, _, array = self.rise(box((60, 50, 40)) + box((60, 50, 40), (80, 0, 0)), "--cavity", "2", "--vent", "110,25,40")
        self.assertEqual(set(array["cavity"]), {0, 2})


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
