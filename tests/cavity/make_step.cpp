// Writes STEP files of known volume into the folder named, with OpenCASCADE's own shapes.
#include <BRepAlgoAPI_Cut.hxx>
#include <BRepBuilderAPI_Transform.hxx>
#include <BRepFilletAPI_MakeFillet.hxx>
#include <BRepPrimAPI_MakeBox.hxx>
#include <BRepPrimAPI_MakeCone.hxx>
#include <BRepPrimAPI_MakeCylinder.hxx>
#include <BRepPrimAPI_MakeSphere.hxx>
#include <BRepPrimAPI_MakeTorus.hxx>
#include <BRep_Builder.hxx>
#include <Interface_Static.hxx>
#include <STEPControl_Controller.hxx>
#include <STEPControl_Writer.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Edge.hxx>
#include <TopoDS_Shell.hxx>

#include <cmath>
#include <iostream>
#include <string>
#include <vector>

namespace {

typedef std::vector<std::pair<std::string, TopoDS_Shape>> named;

TopoDS_Shape moved(const TopoDS_Shape &shape, double x, double y, double z) {
  gp_Trsf t;
  t.SetTranslation(gp_Vec(x, y, z));
  return BRepBuilderAPI_Transform(shape, t, true).Shape();
}

// 120 x 80 x 60, its four upright edges rounded by 10, four bores of 8 through it, and a ball of 15
// as a core in its middle.
TopoDS_Shape block() {
  TopoDS_Shape box = BRepPrimAPI_MakeBox(120, 80, 60).Shape();
  BRepFilletAPI_MakeFillet fillet(box);
  TopTools_IndexedMapOfShape edges;
  TopExp::MapShapes(box, TopAbs_EDGE, edges);
  for (int i = 1; i <= edges.Extent(); i++) {
    TopoDS_Vertex a, b;
    TopExp::Vertices(TopoDS::Edge(edges(i)), a, b);
    gp_Pnt p = BRep_Tool::Pnt(a), q = BRep_Tool::Pnt(b);
    if (std::fabs(p.Z() - q.Z()) > 1) fillet.Add(10, TopoDS::Edge(edges(i)));
  }
  TopoDS_Shape body = fillet.Shape();
  for (int i = 0; i < 4; i++)
    body = BRepAlgoAPI_Cut(body, moved(BRepPrimAPI_MakeCylinder(4, 100).Shape(), i % 2 ? 100 : 20, i / 2 ? 60 : 20, -10)).Shape();
  return BRepAlgoAPI_Cut(body, moved(BRepPrimAPI_MakeSphere(15).Shape(), 60, 40, 30)).Shape();
}

// A box without its lid: faces of no solid.
TopoDS_Shape open_box() {
  BRep_Builder make;
  TopoDS_Shell shell;
  make.MakeShell(shell);
  int n = 0;
  for (TopExp_Explorer x(BRepPrimAPI_MakeBox(10, 20, 30).Shape(), TopAbs_FACE); x.More(); x.Next())
    if (n++ < 5) make.Add(shell, x.Current());
  return shell;
}

bool write(const std::string &path, const char *unit, const named &shapes) {
  STEPControl_Controller::Init();
  Interface_Static::SetCVal("write.step.unit", unit);
  STEPControl_Writer writer;
  for (const auto &s : shapes) {
    Interface_Static::SetCVal("write.step.product.name", s.first.c_str());
    if (writer.Transfer(s.second, STEPControl_AsIs) != IFSelect_RetDone) return false;
  }
  return writer.Write(path.c_str()) == IFSelect_RetDone;
}

} // namespace

int main(int argc, char **argv) {
  if (argc != 2) return 2;
  std::cout.setstate(std::ios::failbit); // the library talks
  const std::string at = std::string(argv[1]) + "/";
  TopoDS_Shape ball = BRepPrimAPI_MakeSphere(30).Shape(), box = BRepPrimAPI_MakeBox(30, 20, 10).Shape();
  bool ok = write(at + "block.step", "MM", {{"seat block", block()}}) &&
            write(at + "block-in-inches.stp", "INCH", {{"seat block", block()}}) &&
            write(at + "block-in-metres.step", "M", {{"seat block", block()}}) &&
            write(at + "box.step", "MM", {{"box", box}}) && write(at + "ball.step", "MM", {{"ball", ball}}) &&
            write(at + "cylinder.step", "MM", {{"cylinder", BRepPrimAPI_MakeCylinder(20, 50).Shape()}}) &&
            write(at + "cone.step", "MM", {{"cone", BRepPrimAPI_MakeCone(20, 5, 40).Shape()}}) &&
            write(at + "torus.step", "MM", {{"torus", BRepPrimAPI_MakeTorus(40, 10).Shape()}}) &&
            write(at + "two.step", "MM", {{"fender", box}, {"ball", moved(ball, 100, 0, 0)}}) &&
            write(at + "open.step", "MM", {{"open", open_box()}});
  return ok ? 0 : 1;
}
