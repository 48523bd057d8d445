/* ullage.h - all of it: from a CAD cavity to where foam traps air, and how to let it out. */
#ifndef ULLAGE_H
#define ULLAGE_H

#include "ullage/attitude.h"
#include "ullage/card.h"
#include "ullage/cautions.h"
#include "ullage/charge.h"
#include "ullage/columns.h"
#include "ullage/datum.h"
#include "ullage/drills.h"
#include "ullage/foam.h"
#include "ullage/foam_card.h"
#include "ullage/grid.h"
#include "ullage/hold.h"
#include "ullage/import.h"
#include "ullage/insert.h"
#include "ullage/job.h"
#include "ullage/least_pack.h"
#include "ullage/level.h"
#include "ullage/markers.h"
#include "ullage/meets.h"
#include "ullage/mesh.h"
#include "ullage/mesh_files.h"
#include "ullage/mobility.h"
#include "ullage/packing.h"
#include "ullage/parting.h"
#include "ullage/peaks.h"
#include "ullage/rise.h"
#include "ullage/shots.h"
#include "ullage/solid.h"
#include "ullage/status.h"
#include "ullage/tree.h"
#include "ullage/vent_size.h"
#include "ullage/vents.h"

#define UL_VERSION "0.1.0"

#endif
