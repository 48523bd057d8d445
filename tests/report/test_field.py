"""The field of a rise, read back by VTK's own reader."""

import pathlib
import sys
import unittest

import numpy
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkIOXML import vtkXMLImageDataReader

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import Case, box


class Field(Case):
    def rise(self, triangles, *words):
        """The result, the image, and its arrays by name, x fastest."""
        field = self.path("field.vti")
        result = self.result((0, 1), "rise", self.mesh(triangles), "--field", field, "--cube", "10", "--void-ok", "0", *words)
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

    def test_a_cavity_risen_alone_has_the_number_of_the_file(self):
        _, _, array = self.rise(box((60, 50, 40)) + box((60, 50, 40), (80, 0, 0)), "--cavity", "2", "--vent", "110,25,40")
        self.assertEqual(set(array["cavity"]), {0, 2})


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
