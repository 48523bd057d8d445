/* audited.h - auditing a test mesh in one line. */
#ifndef TEST_AUDITED_H
#define TEST_AUDITED_H

#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/solid.h"

#include <string.h>

typedef struct audited {
  ul_audit *audit;
  ul_solid *solid;
} audited;

/* Frees `mesh`. Every fault found must say what to do. */
static inline audited audit_with(ul_mesh *mesh, ul_solid_opts opts) {
  audited a;
  ul_error err = {0};
  assert_ok(ul_audit_mesh(mesh, &opts, NULL, &a.audit, &a.solid, &err), &err);
  ul_mesh_free(mesh);
  for (size_t i = 0; i < a.audit->fault_count; i++) {
    assert_true(strlen(a.audit->fault[i].remedy) > 10);
    assert_true(a.audit->fault[i].count > 0);
    assert_true(i == 0 || a.audit->fault[i].kind > a.audit->fault[i - 1].kind);
  }
  assert_int_equal(a.audit->usable, a.solid != NULL);
  return a;
}

static inline audited audit_of(ul_mesh *mesh) {
  return audit_with(mesh, ul_solid_opts_default());
}

static inline void audited_free(audited *a) {
  ul_audit_free(a->audit);
  ul_solid_free(a->solid);
}

/* The fault of that kind, NULL if it was not found. */
static inline const ul_fault *fault_in(const audited *a, ul_fault_kind kind) {
  for (size_t i = 0; i < a->audit->fault_count; i++)
    if (a->audit->fault[i].kind == kind) return &a->audit->fault[i];
  return NULL;
}

static inline size_t fault_count(const audited *a, ul_fault_kind kind) {
  const ul_fault *fault = fault_in(a, kind);
  return fault ? fault->count : 0;
}

#endif
