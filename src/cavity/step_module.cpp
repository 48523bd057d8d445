// Reads STEP by OpenCASCADE. The only file in C++; everything it must say goes through
// step_module.h.
#include "cavity/step_module.h"

#include <BRepBndLib.hxx>
#include <BRepMesh_IncrementalMesh.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <Poly_PolygonOnTriangulation.hxx>
#include <Poly_Triangulation.hxx>
#include <STEPConstruct_UnitContext.hxx>
#include <STEPControl_Reader.hxx>
#include <Standard_Failure.hxx>
#include <Standard_OutOfMemory.hxx>
#include <StepBasic_Product.hxx>
#include <StepBasic_ProductDefinition.hxx>
#include <StepBasic_ProductDefinitionFormation.hxx>
#include <StepGeom_GeomRepContextAndGlobUnitAssCtxAndGlobUncertaintyAssCtx.hxx>
#include <StepGeom_GeometricRepresentationContextAndGlobalUnitAssignedContext.hxx>
#include <StepRepr_GlobalUnitAssignedContext.hxx>
#include <StepRepr_NextAssemblyUsageOccurrence.hxx>
#include <StepRepr_RepresentationItem.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_ShapeMapHasher.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Edge.hxx>
#include <TopoDS_Face.hxx>
#include <TopoDS_Iterator.hxx>
#include <TopoDS_Vertex.hxx>
#include <Transfer_TransientProcess.hxx>
#include <XSControl_TransferReader.hxx>
#include <XSControl_WorkSession.hxx>

#include <cmath>
#include <cstdio>
#include <cstring>
#include <istream>
#include <map>
#include <streambuf>
#include <string>
#include <unordered_map>
#include <vector>

namespace {

// How far triangles may stay from the surface, as a share of the solid's diagonal, and how far
// they may turn from one to the next. A ball then loses 0.05 % of its volume, a torus 0.06 %, a
// bore small beside the part 0.2 % of its own.
const double DEFLECTION = 1e-4, TURN_RAD = 0.1;
enum { DEEPEST = 200 };

struct memory_buffer : std::streambuf {
  memory_buffer(const void *bytes, size_t size) {
    char *start = const_cast<char *>(static_cast<const char *>(bytes));
    setg(start, start, start + size);
  }
};

struct out_of_room {};

void check(bool ok) {
  if (!ok) throw out_of_room();
}

struct by_shape {
  size_t operator()(const TopoDS_Shape &s) const {
    return static_cast<size_t>(TopTools_ShapeMapHasher::HashCode(s, INT_MAX));
  }
  bool operator()(const TopoDS_Shape &a, const TopoDS_Shape &b) const { return a.IsSame(b); }
};

// One solid on its way to triangles: vertices and edges that faces share get one set of numbers.
struct solid_mesh {
  const ul_step_sink &sink;
  ul_step_report &report;
  uint32_t count = 0;
  std::unordered_map<TopoDS_Shape, uint32_t, by_shape, by_shape> vertex;
  std::unordered_map<TopoDS_Shape, std::vector<uint32_t>, by_shape, by_shape> edge;

  solid_mesh(const ul_step_sink &s, ul_step_report &r) : sink(s), report(r) {}

  uint32_t put(const gp_Pnt &p) {
    const double at[3] = {p.X(), p.Y(), p.Z()};
    check(count < UINT32_MAX && sink.vertex(sink.draft, at));
    return count++;
  }

  uint32_t corner(const TopoDS_Vertex &v) {
    auto found = vertex.find(v);
    if (found != vertex.end()) return found->second;
    return vertex[v] = put(BRep_Tool::Pnt(v));
  }

  // The numbers along an edge, made by the first face that has it. Its ends are its vertices, so
  // that edges that meet there agree.
  const std::vector<uint32_t> &along(const TopoDS_Edge &e, const Handle(Poly_Triangulation) & t,
                                     const TColStd_Array1OfInteger &node, const gp_Trsf &place) {
    auto found = edge.find(e);
    if (found != edge.end()) return found->second;
    TopoDS_Vertex ends[2];
    TopExp::Vertices(TopoDS::Edge(e.Oriented(TopAbs_FORWARD)), ends[0], ends[1]);
    std::vector<uint32_t> number;
    for (int i = node.Lower(); i <= node.Upper(); i++) {
      bool first = i == node.Lower(), last = i == node.Upper();
      if (BRep_Tool::Degenerated(e) && !ends[0].IsNull())
        number.push_back(corner(ends[0]));
      else if (first && !ends[0].IsNull())
        number.push_back(corner(ends[0]));
      else if (last && !ends[1].IsNull())
        number.push_back(corner(ends[1]));
      else
        number.push_back(put(t->Node(node(i)).Transformed(place)));
    }
    return edge[e] = number;
  }

  void number_rim(const TopoDS_Face &face, const Handle(Poly_Triangulation) & t,
                  const TopLoc_Location &where, std::vector<uint32_t> &number) {
    for (TopExp_Explorer x(face, TopAbs_EDGE); x.More(); x.Next()) {
      const TopoDS_Edge &e = TopoDS::Edge(x.Current());
      Handle(Poly_PolygonOnTriangulation) rim = BRep_Tool::PolygonOnTriangulation(e, t, where);
      if (rim.IsNull()) continue;
      const TColStd_Array1OfInteger &node = rim->Nodes();
      const std::vector<uint32_t> &known = along(e, t, node, where.Transformation());
      if (known.size() != static_cast<size_t>(node.Length())) continue; // left to the weld
      for (int i = 0; i < node.Length(); i++)
        number[static_cast<size_t>(node(node.Lower() + i))] = known[static_cast<size_t>(i)];
    }
  }

  void add(const TopoDS_Face &face) {
    TopLoc_Location where;
    Handle(Poly_Triangulation) t = BRep_Tool::Triangulation(face, where);
    if (t.IsNull() || t->NbTriangles() == 0) return failed(face);
    const uint32_t none = UINT32_MAX;
    std::vector<uint32_t> number(static_cast<size_t>(t->NbNodes()) + 1, none);
    number_rim(face, t, where, number);
    for (int i = 1; i <= t->NbNodes(); i++)
      if (number[static_cast<size_t>(i)] == none)
        number[static_cast<size_t>(i)] = put(t->Node(i).Transformed(where.Transformation()));
    bool turned = (face.Orientation() == TopAbs_REVERSED) != where.Transformation().IsNegative();
    for (int i = 1; i <= t->NbTriangles(); i++) {
      int n[3];
      t->Triangle(i).Get(n[0], n[1], n[2]);
      uint32_t c[3];
      for (int k = 0; k < 3; k++) c[k] = number[static_cast<size_t>(n[turned ? 2 - k : k])];
      if (c[0] != c[1] && c[1] != c[2] && c[2] != c[0]) check(sink.triangle(sink.draft, c));
    }
  }

  void failed(const TopoDS_Face &face) {
    Bnd_Box box;
    BRepBndLib::Add(face, box);
    if (report.failed_faces++ == 0 && !box.IsVoid()) {
      double a[3], b[3];
      box.Get(a[0], a[1], a[2], b[0], b[1], b[2]);
      for (int c = 0; c < 3; c++) report.failed_at_mm[c] = (a[c] + b[c]) / 2;
    }
  }
};

void mesh_solid(const TopoDS_Shape &solid, const ul_step_sink &sink, ul_step_report &report) {
  Bnd_Box box;
  BRepBndLib::Add(solid, box);
  if (box.IsVoid() || box.IsOpen()) return;
  IMeshTools_Parameters how;
  how.Deflection = DEFLECTION * std::sqrt(box.SquareExtent());
  how.Angle = TURN_RAD;
  if (!(how.Deflection > 1e-7)) how.Deflection = 1e-7;
  BRepMesh_IncrementalMesh(solid, how);
  solid_mesh mesh(sink, report);
  for (TopExp_Explorer x(solid, TopAbs_FACE); x.More(); x.Next())
    mesh.add(TopoDS::Face(x.Current()));
}

// -- names --

std::string text_of(const Handle(TCollection_HAsciiString) & s) {
  std::string text = s.IsNull() ? "" : s->ToCString();
  return text == "NONE" ? "" : text;
}

std::string product_of(const Handle(StepBasic_ProductDefinition) & d) {
  if (d.IsNull() || d->Formation().IsNull() || d->Formation()->OfProduct().IsNull()) return "";
  return text_of(d->Formation()->OfProduct()->Name());
}

// A context of a representation is an entity of several kinds in one.
Handle(StepRepr_GlobalUnitAssignedContext) units_of(const Handle(Standard_Transient) & e) {
  auto three =
      Handle(StepGeom_GeomRepContextAndGlobUnitAssCtxAndGlobUncertaintyAssCtx)::DownCast(e);
  if (!three.IsNull()) return three->GlobalUnitAssignedContext();
  auto two =
      Handle(StepGeom_GeometricRepresentationContextAndGlobalUnitAssignedContext)::DownCast(e);
  if (!two.IsNull()) return two->GlobalUnitAssignedContext();
  return Handle(StepRepr_GlobalUnitAssignedContext)::DownCast(e);
}

struct reading {
  STEPControl_Reader reader;
  const ul_step_sink &sink;
  ul_step_report &report;
  std::map<std::string, int> used;

  reading(const ul_step_sink &s, ul_step_report &r) : sink(s), report(r) {}

  Handle(Standard_Transient) entity(const TopoDS_Shape &shape) {
    for (int mode : {3, 2, 1}) {
      Handle(Standard_Transient) e =
          reader.WS()->TransferReader()->EntityFromShapeResult(shape, mode);
      if (!e.IsNull()) return e;
    }
    return Handle(Standard_Transient)();
  }

  std::string own_name(const TopoDS_Shape &shape) {
    Handle(Standard_Transient) e = entity(shape);
    Handle(StepRepr_RepresentationItem) item = Handle(StepRepr_RepresentationItem)::DownCast(e);
    return item.IsNull() ? "" : text_of(item->Name());
  }

  std::string product_name(const TopoDS_Shape &shape) {
    Handle(Standard_Transient) e = entity(shape);
    Handle(StepRepr_NextAssemblyUsageOccurrence) use =
        Handle(StepRepr_NextAssemblyUsageOccurrence)::DownCast(e);
    if (!use.IsNull()) {
      std::string name = text_of(use->Name());
      return !name.empty() ? name : product_of(use->RelatedProductDefinition());
    }
    return product_of(Handle(StepBasic_ProductDefinition)::DownCast(e));
  }

  // Every solid gets a name of its own, as people and --part need it.
  std::string settle(std::string name) {
    if (name.empty()) name = "solid";
    int n = ++used[name];
    return n == 1 ? name : settle(name + " " + std::to_string(n));
  }

  void take_solid(const TopoDS_Shape &solid, const std::string &product) {
    std::string own = own_name(solid);
    check(sink.part(sink.draft, settle(own.empty() ? product : own).c_str()));
    report.solids++;
    mesh_solid(solid, sink, report);
  }

  void take(const TopoDS_Shape &shape, std::string product, int depth) {
    if (depth > DEEPEST) return;
    if (shape.ShapeType() == TopAbs_SOLID) return take_solid(shape, product);
    if (shape.ShapeType() > TopAbs_SOLID) {
      for (TopExp_Explorer x(shape, TopAbs_FACE); x.More(); x.Next()) report.loose_faces++;
      return;
    }
    std::string name = product_name(shape);
    for (TopoDS_Iterator i(shape); i.More(); i.Next())
      take(i.Value(), name.empty() ? product : name, depth + 1);
  }

  double unit_mm() {
    Handle(Interface_InterfaceModel) model = reader.WS()->Model();
    for (int i = 1; i <= model->NbEntities(); i++) {
      Handle(StepRepr_GlobalUnitAssignedContext) context = units_of(model->Value(i));
      STEPConstruct_UnitContext unit;
      if (!context.IsNull() && unit.ComputeFactors(context) == 0 && unit.LengthDone() &&
          unit.LengthFactor() > 0)
        return unit.LengthFactor();
    }
    return 1;
  }

  // Solids, each a part; where there are none, all faces of a root as one: they may close all the
  // same, and if not the audit says where.
  void take_roots() {
    std::vector<std::pair<TopoDS_Shape, std::string>> roots;
    for (int root = 1; root <= reader.NbRootsForTransfer(); root++) {
      int before = reader.NbShapes();
      if (!reader.TransferOneRoot(root)) continue;
      Handle(StepBasic_ProductDefinition) product =
          Handle(StepBasic_ProductDefinition)::DownCast(reader.RootForTransfer(root));
      for (int i = before + 1; i <= reader.NbShapes(); i++)
        roots.emplace_back(reader.Shape(i), product_of(product));
    }
    for (const auto &root : roots) take(root.first, root.second, 0);
    if (report.solids || !report.loose_faces) return;
    for (const auto &root : roots) {
      check(sink.part(sink.draft, settle(root.second).c_str()));
      mesh_solid(root.first, sink, report);
    }
  }

  const char *run(const void *bytes, size_t size) {
    memory_buffer buffer(bytes, size);
    std::istream stream(&buffer);
    if (reader.ReadStream("file", stream) != IFSelect_RetDone)
      return "its text is damaged, or not that of a STEP file: export it again";
    report.mm_per_unit = unit_mm();
    take_roots();
    return report.solids || report.loose_faces ? "" : "it holds no solid: export the solid itself";
  }
};

} // namespace

extern "C" __attribute__((visibility("default"))) void
ul_step_read(const void *bytes, size_t size, const ul_step_sink *sink, ul_step_report *report) {
  const char *why;
  std::string text;
  try {
    reading r(*sink, *report);
    why = r.run(bytes, size);
  } catch (const Standard_OutOfMemory &) {
    report->no_memory = true;
    why = "no memory";
  } catch (const std::bad_alloc &) {
    report->no_memory = true;
    why = "no memory";
  } catch (const out_of_room &) {
    report->no_memory = true;
    why = "no memory";
  } catch (const Standard_Failure &failure) {
    text = failure.GetMessageString() ? failure.GetMessageString() : "";
    why = text.empty() ? failure.DynamicType()->Name() : text.c_str();
  } catch (...) {
    why = "its reader gave up";
  }
  std::snprintf(report->error, sizeof report->error, "%s", why);
}
