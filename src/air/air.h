/* air.h - the air of one attitude as a sweep sees it: things with heights that are joined.
 *
 * There are two such graphs. The skin's is exact, and quick as long as the mesh is not large; the
 * run graph of the columns takes over above that, and where the mesh is not the cavity's wall. */
#ifndef UL_AIR_AIR_H
#define UL_AIR_AIR_H

#include "air/heights.h"
#include "air/patch.h"
#include "air/view.h"

typedef struct ul_air_card {
  uint32_t key; /* rises as the height falls */
  uint32_t id;  /* an item; from item_count on, a join */
} ul_air_card;

/* What a region's root knows of it. A region is a list of items that starts at its root. */
typedef struct ul_air_region {
  uint32_t leaf;  /* its highest item */
  uint32_t last;  /* its last item */
  uint32_t place; /* when the level passed the root: 0 first */
} ul_air_region;

/* A vent hangs on an item like a leaf, at its own height. */
typedef struct ul_air_vent {
  uint32_t item;
  double level;
} ul_air_vent;

enum { UL_AIR_DIGIT_BITS = 12, UL_AIR_BUCKETS = 1 << UL_AIR_DIGIT_BITS };

/* What the two graphs do each in their way. */
typedef struct ul_air_kind {
  /* For air->up: sets item_count, first, open, height, join, join_count. */
  ul_status (*look)(ul_air *air);
  /* The region's air above `level`. */
  double (*above)(const ul_air *air, uint32_t root, double level);
  uint32_t (*cavity)(const ul_air *air, uint32_t item);
  void (*point)(const ul_air *air, uint32_t item, double out[3]);
  /* Whether two tops, the lower cut off by `depth`, are one to a moulder. */
  bool (*one_top)(const ul_air *air, uint32_t a, uint32_t b, double depth);
  /* The item on which a vent at `at` hangs, and at what level. */
  ul_status (*hang)(ul_air *air, const double at[3], ul_air_vent *vent);
} ul_air_kind;

struct ul_air {
  const ul_heights *heights;
  const ul_air_kind *kind;
  double up[3];
  bool lies; /* what follows up to the regions is that of `up` */
  /* the graph in this attitude */
  size_t item_count;
  const uint32_t *first, *open; /* neighbours of item i: open[first[i] .. first[i+1]) */
  double *height;               /* per item, then the level of each join */
  uint32_t (*join)[2];          /* more pairs, each joined at a level of its own below both */
  size_t join_count, join_room, height_room;
  const ul_run_graph *graph; /* columns */
  ul_view view;              /* skin; its heights are `height` */
  ul_patch patch;            /* skin */
  /* the sweep */
  size_t room; /* of each of the next five */
  ul_air_card *cards, *other;
  uint32_t *above; /* per item: union-find over regions; NONE below the level. By itself, to be
                      small: nine of ten looks at a neighbour end here */
  uint32_t *next;  /* per item: the next one of its region */
  ul_air_region *region; /* per root */
  bool *vented;          /* per root: its region has an open vent */
  uint32_t (*start)[UL_AIR_BUCKETS];
  ul_pocket *pocket;
  size_t pocket_count, pocket_room;
  ul_air_vent *vent; /* highest first */
  size_t vent_count, vent_room, vents_open;
  bool ask_trapped;
  double least_mm3, trapped_mm3, largest_mm3;
};

extern const ul_air_kind ul_air_columns, ul_air_skin;

/* A scratch of that kind; ul_air_new() chooses. */
ul_status ul_air_new_of(const ul_heights *heights, const ul_air_kind *kind, ul_air **scratch,
                        ul_error *err);
bool ul_air_is_skin(const ul_air *scratch);
/* Room for the heights of that many items and joins; the sweep's own follows. */
ul_status ul_air_make_room(ul_air *air, size_t items_and_joins);

#endif
