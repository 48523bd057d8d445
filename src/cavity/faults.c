#include "cavity/audit.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* -- words -- */

static const struct {
  const char *word;
  bool usable;
} fault_table[UL_FAULT_END] = {
#define AS_ROW(name, word, usable) [name] = {word, usable},
    UL_FAULT_LIST(AS_ROW)
#undef AS_ROW
};

static const char *const remedy_table[UL_FAULT_END] = {
    [UL_FAULT_OPEN] = "close it in CAD and export it again",
    [UL_FAULT_NON_MANIFOLD] = "bodies that touch at an edge were kept apart; if they are meant as "
                              "one, join them in CAD",
    [UL_FAULT_ODD_EDGE] = "a wall between two bodies is drawn once, or a face is left over: make "
                          "each body closed by itself in CAD, or delete the face",
    [UL_FAULT_WINDING] = "turned to face as most of their shell does; in CAD, make the normals "
                         "agree",
    [UL_FAULT_INSIDE_OUT] = "turned outwards, with all that is in it; in CAD, flip its normals",
    [UL_FAULT_UNORIENTABLE] = "the surface has no inside and outside: rebuild it as a closed solid "
                              "in CAD",
    [UL_FAULT_DEGENERATE] = "slivers without area: dropped where the surface stays closed without "
                            "them, else kept; they do no harm",
    [UL_FAULT_DUPLICATE] = "one of each two was dropped; in CAD, delete the face or body that is "
                           "there twice",
    [UL_FAULT_SELF_INTERSECTING] = "the surface passes through itself: volume and area are of what "
                                   "it goes round, gaps near there may be wrong; trim or join the "
                                   "faces in CAD",
    [UL_FAULT_OVERLAPPING] =
        "taken as one cavity, measured as their union; join the bodies in CAD if "
        "they are meant as one",
    [UL_FAULT_SAME_SENSE] =
        "counted as filled, nothing is cut out for it; if it is a core, flip its "
        "normals in CAD",
    [UL_FAULT_FLAT_SHELL] = "encloses nothing: left out; delete it in CAD, or give it thickness",
    [UL_FAULT_ALL_FLAT] = "nothing is enclosed: give the part thickness in CAD",
    [UL_FAULT_NO_VOID] =
        "nothing is drawn inside the block: read it as the part (--drawn part), or "
        "draw the cavity as a closed void in it",
    [UL_FAULT_PATCHED] = "closed with flat faces, as asked; look whether they lie where the mould "
                         "has its wall",
};

const char *ul_fault_word(ul_fault_kind kind) {
  return (unsigned)kind < UL_FAULT_END ? fault_table[kind].word : "unknown";
}

bool ul_fault_usable(ul_fault_kind kind) {
  return (unsigned)kind < UL_FAULT_END && fault_table[kind].usable;
}

/* -- noting and listing -- */

void ul_note(ul_survey *s, ul_fault_kind kind, size_t count, const double at_mm[3], long triangle) {
  ul_fault *fault = &s->fault[kind];
  if (fault->count == 0) {
    fault->kind = kind;
    ul_copy3(at_mm, fault->at_mm);
    fault->triangle = triangle;
    if (triangle >= 0 && s->welded_id)
      fault->triangle = s->welded_id[triangle] == UL_NONE ? -1 : (long)s->welded_id[triangle];
  }
  fault->count += count;
}

void ul_note_triangle(ul_survey *s, ul_fault_kind kind, size_t count, size_t triangle) {
  double middle[3] = {0};
  for (int k = 0; k < 3; k++)
    ul_add_scaled(middle, 1.0 / 3, s->mesh->vertex_mm[s->mesh->triangle[triangle][k]], middle);
  ul_note(s, kind, count, middle, (long)triangle);
}

/* Up to this far across a patch would close every hole. */
static double widest_hole(const ul_survey *s) {
  double widest = 0;
  for (size_t h = 0; h < s->hole_count; h++) widest = fmax(widest, s->hole[h].across_mm);
  return widest;
}

/* Every hole has a rim that closes, and no other edge is wrong: then patches can help. */
static bool patches_help(const ul_survey *s) {
  return s->fault[UL_FAULT_ODD_EDGE].count == 0;
}

static void write_remedy(const ul_survey *s, ul_fault *fault) {
  snprintf(fault->remedy, sizeof fault->remedy, "%s", remedy_table[fault->kind]);
  if (fault->kind != UL_FAULT_OPEN || !patches_help(s)) return;
  double widest = widest_hole(s), step = pow(10, floor(log10(widest)) - 1);
  snprintf(fault->remedy, sizeof fault->remedy, "close it in CAD, or try --patch %g",
           ceil(widest / step * (1 + 1e-9)) * step);
}

ul_status ul_list_faults(const ul_survey *s, ul_audit *audit) {
  audit->fault = ul_new(UL_FAULT_END, sizeof *audit->fault);
  if (!audit->fault) return UL_E_MEMORY;
  audit->usable = true;
  for (int kind = 0; kind < UL_FAULT_END; kind++) {
    if (s->fault[kind].count == 0) continue;
    ul_fault *fault = &audit->fault[audit->fault_count++];
    *fault = s->fault[kind];
    write_remedy(s, fault);
    audit->usable = audit->usable && ul_fault_usable((ul_fault_kind)kind);
  }
  return UL_OK;
}

/* -- the verdict -- */

static ul_status open_verdict(const ul_audit *audit, const ul_fault *f, ul_error *err) {
  const double *p = f->at_mm;
  size_t n = audit->hole_count;
  return ul_fail_at(err, UL_E_OPEN, p, f->triangle,
                    "cavity is not closed: %zu hole%s, the longest %.4g mm round at x %.1f y %.1f "
                    "z %.1f mm: %s",
                    n, n == 1 ? "" : "s", f->length_mm, p[0], p[1], p[2], f->remedy);
}

static ul_status fault_verdict(const ul_fault *f, ul_error *err) {
  static const char *const text[UL_FAULT_END] = {
      [UL_FAULT_ODD_EDGE] = "%zu edge(s) have an odd number of triangles, one at x %.1f y %.1f z "
                            "%.1f mm: %s",
      [UL_FAULT_UNORIENTABLE] =
          "the surface cannot be wound consistently, in %zu place(s), one at x "
          "%.1f y %.1f z %.1f mm: %s",
      [UL_FAULT_ALL_FLAT] = "%zu shell(s) without thickness, one at x %.1f y %.1f z %.1f mm: %s",
      [UL_FAULT_NO_VOID] =
          "a block with no cavity in it (%zu), its surface at x %.1f y %.1f z %.1f "
          "mm: %s",
  };
  ul_status code = f->kind == UL_FAULT_ALL_FLAT ? UL_E_FLAT : UL_E_SURFACE;
  const double *p = f->at_mm;
  return ul_fail_at(err, code, p, f->triangle, text[f->kind], f->count, p[0], p[1], p[2],
                    f->remedy);
}

ul_status ul_audit_verdict(const ul_audit *audit, ul_error *err) {
  if (audit->usable) return UL_OK;
  for (size_t i = 0; i < audit->fault_count; i++) {
    const ul_fault *f = &audit->fault[i];
    if (f->kind == UL_FAULT_OPEN) return open_verdict(audit, f, err);
    if (!ul_fault_usable(f->kind)) return fault_verdict(f, err);
  }
  return ul_fail(err, UL_E_SURFACE, "the surface does not bound a solid: rebuild it in CAD");
}
