#include "shapes/shapes.h"

#include "shapes/check.h"

ul_solid *shape_solid(ul_mesh *mesh) {
  ul_solid_opts opts = ul_solid_opts_default();
  ul_audit *audit = NULL;
  ul_solid *solid = NULL;
  ul_error err = {0};
  assert_ok(ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err), &err);
  assert_ok(ul_audit_verdict(audit, &err), &err);
  ul_audit_free(audit);
  ul_mesh_free(mesh);
  return solid;
}
