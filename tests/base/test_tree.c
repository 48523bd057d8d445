#include "base/memory.h"
#include "base/order.h"
#include "shapes/check.h"
#include "ullage/tree.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_ITEMS = 40, MOST_EDGES = 80, MOST_LEAVES = 12 };

/* A graph small enough to be judged from the definitions alone. */
typedef struct {
  ul_tree_input in;
  double value[MOST_ITEMS], weight[MOST_ITEMS], edge_value[MOST_EDGES];
  uint32_t edge[MOST_EDGES][2];
} graph;

static double draw(uint64_t *state) {
  *state = *state * 6364136223846793005u + 1442695040888963407u;
  return (double)(*state >> 11) * 0x1p-53;
}

static void add_edge(graph *g, uint32_t a, uint32_t b, double drop) {
  size_t e = g->in.edge_count++;
  g->edge[e][0] = a;
  g->edge[e][1] = b;
  g->edge_value[e] = fmin(g->value[a], g->value[b]) - drop;
}

static void wire(graph *g) {
  g->in.value = g->value;
  g->in.weight = g->weight;
  g->in.edge = (const uint32_t(*)[2])g->edge;
  g->in.edge_value = g->edge_value;
}

/* Few distinct values, so that ties are common; half of the joins lie below both ends. */
static void random_graph(graph *g, uint64_t *state, size_t items, double levels) {
  memset(g, 0, sizeof *g);
  wire(g);
  g->in.item_count = items;
  for (size_t i = 0; i < items; i++) {
    g->value[i] = floor(draw(state) * levels);
    g->weight[i] = floor(draw(state) * 100) / 8; /* sums of eighths are exact */
  }
  for (size_t i = 1; i < items; i++) {
    double drop = draw(state) < 0.5 ? 0 : floor(draw(state) * 3);
    if (draw(state) < 0.97) add_edge(g, (uint32_t)i, (uint32_t)(draw(state) * (double)i), drop);
    if (draw(state) < 0.3) add_edge(g, (uint32_t)i, (uint32_t)(draw(state) * (double)i), drop);
  }
}

/* Marks what can be reached from `from` without going below `level`. */
static void flood(const graph *g, uint32_t from, double level, char *seen) {
  memset(seen, 0, MOST_ITEMS);
  seen[from] = 1;
  for (int grew = 1; grew;) {
    grew = 0;
    for (size_t e = 0; e < g->in.edge_count; e++) {
      uint32_t a = g->edge[e][0], b = g->edge[e][1];
      if (g->edge_value[e] < level || seen[a] == seen[b]) continue;
      seen[a] = seen[b] = 1;
      grew = 1;
    }
  }
}

/* A maximum: nothing reached at its own level is higher, or as high with a lower id. */
static int is_maximum(const graph *g, uint32_t i) {
  char seen[MOST_ITEMS];
  flood(g, i, g->value[i], seen);
  for (uint32_t j = 0; j < g->in.item_count; j++)
    if (seen[j] && (g->value[j] > g->value[i] || (g->value[j] == g->value[i] && j < i))) return 0;
  return 1;
}

static size_t maxima(const graph *g, uint32_t *out) {
  size_t count = 0;
  for (uint32_t i = 0; i < g->in.item_count; i++)
    if (is_maximum(g, i)) out[count++] = i;
  return count;
}

static void leaves_are_the_maxima_and_arcs_hold_what_they_say(void **state) {
  (void)state;
  uint64_t dice = 1;
  for (int n = 0; n < 2000; n++) {
    graph g;
    random_graph(&g, &dice, 1 + (size_t)(draw(&dice) * 30), n % 2 ? 8 : 1000);
    ul_tree *tree = NULL;
    ul_error err;
    assert_ok(ul_tree_build(&g.in, &tree, &err), &err);
    uint32_t want[MOST_ITEMS];
    size_t leaves = 0, want_count = maxima(&g, want);
    assert_int_equal(tree->leaf_count, want_count);
    for (uint32_t a = 0; a < tree->arc_count; a++) {
      const ul_arc *arc = &tree->arc[a];
      if (arc->child_count == 0) {
        leaves++;
        assert_true(is_maximum(&g, arc->leaf));
        assert_true(arc->top == g.value[arc->leaf]);
      }
      if (arc->parent == UINT32_MAX) continue;
      assert_true(arc->parent > a && tree->arc[arc->parent].top == arc->bottom);
      assert_true(arc->top > arc->bottom);
    }
    assert_int_equal(leaves, want_count);
    ul_tree_free(tree);
  }
}

/* What an item's region holds above its own level, against a flood of the graph. */
static void a_region_cut_off_is_what_a_flood_from_its_leaf_reaches(void **state) {
  (void)state;
  uint64_t dice = 2;
  for (int n = 0; n < 2000; n++) {
    graph g;
    random_graph(&g, &dice, 1 + (size_t)(draw(&dice) * 30), n % 2 ? 8 : 1000);
    ul_tree *tree = NULL;
    assert_ok(ul_tree_build(&g.in, &tree, NULL), NULL);
    for (uint32_t a = 0; a < tree->arc_count; a++) {
      const ul_arc *arc = &tree->arc[a];
      double sum = 0, level = arc->parent == UINT32_MAX ? arc->bottom : nextafter(arc->bottom, 1e9);
      char seen[MOST_ITEMS];
      flood(&g, arc->leaf, level, seen);
      for (uint32_t i = 0; i < g.in.item_count; i++) sum += seen[i] ? g.weight[i] : 0;
      assert_true(arc->subtree_weight == sum);
    }
    ul_tree_free(tree);
  }
}

/* By definition: the air at an item is let out if the region it lies in, when the foam's level
 * stands at it, still holds a vent. */
typedef struct {
  size_t leaf_count, mask_count;
  uint32_t leaf[MOST_ITEMS], mask[MOST_ITEMS];
  double weight[MOST_ITEMS];
} judge;

static void prepare(const graph *g, judge *j) {
  j->leaf_count = maxima(g, j->leaf);
  j->mask_count = 0;
  for (uint32_t i = 0; i < g->in.item_count; i++) {
    char seen[MOST_ITEMS];
    uint32_t mask = 0;
    size_t m = 0;
    flood(g, i, g->value[i], seen);
    for (size_t l = 0; l < j->leaf_count; l++) mask |= (uint32_t)(seen[j->leaf[l]] != 0) << l;
    while (m < j->mask_count && j->mask[m] != mask) m++;
    if (m == j->mask_count) j->weight[j->mask_count++] = 0;
    j->mask[m] = mask;
    j->weight[m] += g->weight[i];
  }
}

static double let_out(const judge *j, uint32_t vents) {
  double sum = 0;
  for (size_t m = 0; m < j->mask_count; m++)
    if (j->mask[m] & vents) sum += j->weight[m];
  return sum;
}

static void brute_force(const judge *j, double best[MOST_LEAVES + 1]) {
  for (size_t k = 0; k <= j->leaf_count; k++) best[k] = 0;
  for (uint32_t vents = 0; vents < 1u << j->leaf_count; vents++) {
    int k = __builtin_popcount(vents);
    best[k] = fmax(best[k], let_out(j, vents));
  }
}

static uint32_t bit_of(const judge *j, uint32_t item) {
  for (size_t l = 0; l < j->leaf_count; l++)
    if (j->leaf[l] == item) return 1u << l;
  fail_msg("item %u is no maximum", item);
  return 0;
}

static void best_leaves_equal_brute_force_over_all_subsets(void **state) {
  (void)state;
  uint64_t dice = 3;
  for (int tried = 0; tried < 10000;) {
    graph g;
    judge j;
    random_graph(&g, &dice, 2 + (size_t)(draw(&dice) * 32), tried % 2 ? 8 : 1000);
    prepare(&g, &j);
    if (j.leaf_count > MOST_LEAVES) continue;
    tried++;
    ul_tree *tree = NULL;
    assert_ok(ul_tree_build(&g.in, &tree, NULL), NULL);
    uint32_t item[MOST_LEAVES], vents = 0;
    double adds[MOST_LEAVES], best[MOST_LEAVES + 1], sum = 0;
    ul_status status;
    size_t count = ul_tree_best_leaves(tree, MOST_LEAVES, item, adds, &status);
    assert_int_equal(count, j.leaf_count);
    brute_force(&j, best);
    for (size_t k = 0; k < count; k++) {
      vents |= bit_of(&j, item[k]);
      sum += adds[k];
      assert_true(sum == best[k + 1]);
      assert_true(let_out(&j, vents) == best[k + 1]);
    }
    ul_tree_free(tree);
  }
}

/* A tall horn of 1 cm3 and a low dome of 50 cm3 over one saddle, 200 cm3 below it. Pairing by
 * height would keep the horn: one vent must go to the dome. */
static void one_vent_goes_to_the_dome_not_to_the_horn(void **state) {
  (void)state;
  const double value[] = {90, 40, 20}, weight[] = {1, 50, 200}, edge_value[] = {20, 20};
  const uint32_t edge[][2] = {{0, 2}, {1, 2}};
  const ul_tree_input in = {3, value, weight, 2, edge, edge_value};
  ul_tree *tree = NULL;
  assert_ok(ul_tree_build(&in, &tree, NULL), NULL);
  assert_int_equal(tree->arc_count, 3);
  uint32_t item[2];
  double adds[2];
  ul_status status;
  assert_int_equal(ul_tree_best_leaves(tree, 1, item, adds, &status), 1);
  assert_int_equal(item[0], 1);
  assert_true(adds[0] == 250);
  assert_int_equal(ul_tree_best_leaves(tree, 2, item, adds, &status), 2);
  assert_int_equal(item[1], 0);
  assert_true(adds[1] == 1);
  ul_tree_free(tree);
}

static void the_order_of_the_edges_does_not_show(void **state) {
  (void)state;
  uint64_t dice = 4;
  for (int n = 0; n < 500; n++) {
    graph g;
    random_graph(&g, &dice, 25, 6);
    ul_tree *tree = NULL, *again = NULL;
    assert_ok(ul_tree_build(&g.in, &tree, NULL), NULL);
    for (size_t e = 0, f = g.in.edge_count - 1; e < f; e++, f--) {
      uint32_t pair[2] = {g.edge[e][0], g.edge[e][1]};
      double level = g.edge_value[e];
      memcpy(g.edge[e], g.edge[f], sizeof pair);
      memcpy(g.edge[f], pair, sizeof pair);
      g.edge_value[e] = g.edge_value[f];
      g.edge_value[f] = level;
    }
    assert_ok(ul_tree_build(&g.in, &again, NULL), NULL);
    assert_int_equal(tree->arc_count, again->arc_count);
    for (size_t a = 0; a < tree->arc_count; a++) assert_true(tree->arc[a].top == again->arc[a].top);
    for (size_t i = 0; i < 25; i++) {
      const ul_arc *x = &tree->arc[tree->arc_of_item[i]], *y = &again->arc[again->arc_of_item[i]];
      assert_true(x->leaf == y->leaf && x->bottom == y->bottom);
      assert_true(x->subtree_weight == y->subtree_weight);
    }
    ul_tree_free(tree);
    ul_tree_free(again);
  }
}

static void a_plateau_is_one_leaf_and_a_saddle_belongs_below(void **state) {
  (void)state;
  /* 5 5 3 5: two items tie at the left top, the saddle's own volume is not cut off with either. */
  const double value[] = {5, 5, 3, 5}, weight[] = {1, 2, 4, 8}, edge_value[] = {5, 3, 3};
  const uint32_t edge[][2] = {{0, 1}, {1, 2}, {2, 3}};
  const ul_tree_input in = {4, value, weight, 3, edge, edge_value};
  ul_tree *tree = NULL;
  assert_ok(ul_tree_build(&in, &tree, NULL), NULL);
  assert_int_equal(tree->leaf_count, 2);
  assert_int_equal(tree->arc_count, 3);
  assert_true(tree->arc[0].leaf == 0 && tree->arc[0].subtree_weight == 3);
  assert_true(tree->arc[1].leaf == 3 && tree->arc[1].subtree_weight == 8);
  assert_true(tree->arc[2].weight == 4 && tree->arc[2].bottom == 3);
  ul_tree_free(tree);
}

static void bad_graphs_are_refused_with_the_number(void **state) {
  (void)state;
  double value[] = {5, 4}, weight[] = {1, 1}, edge_value[] = {4.5};
  uint32_t edge[][2] = {{0, 1}};
  const ul_tree_input in = {2, value, weight, 1, (const uint32_t(*)[2])edge, edge_value};
  ul_tree *tree = NULL;
  ul_error err;
  assert_int_equal(ul_tree_build(&in, &tree, &err), UL_E_NUMBER);
  assert_null(tree);
  assert_non_null(strstr(err.text, "join 0 of an air tree, of places 0 and 1 at level 4.5"));
  edge_value[0] = 4;
  edge[0][1] = 2;
  assert_int_equal(ul_tree_build(&in, &tree, &err), UL_E_NUMBER);
  edge[0][1] = 1;
  weight[1] = -1;
  assert_int_equal(ul_tree_build(&in, &tree, &err), UL_E_NUMBER);
  assert_non_null(strstr(err.text, "place 1 of an air tree has value 4 and volume -1"));
  value[1] = NAN;
  assert_int_equal(ul_tree_build(&in, &tree, NULL), UL_E_NUMBER);
}

static void an_empty_graph_and_lone_places_have_trees(void **state) {
  (void)state;
  ul_tree *tree = NULL;
  ul_status status;
  const ul_tree_input none = {0};
  assert_ok(ul_tree_build(&none, &tree, NULL), NULL);
  assert_int_equal(tree->arc_count, 0);
  assert_int_equal(ul_tree_best_leaves(tree, 3, NULL, NULL, &status), 0);
  ul_tree_free(tree);
  const double value[] = {-1, 1}, weight[] = {3, 4};
  const ul_tree_input two = {.item_count = 2, .value = value, .weight = weight};
  assert_ok(ul_tree_build(&two, &tree, NULL), NULL);
  assert_int_equal(tree->leaf_count, 2);
  assert_int_equal(tree->arc[0].leaf, 1);
  assert_true(tree->arc[1].bottom == -1 && tree->arc[1].parent == UINT32_MAX);
  ul_tree_free(tree);
}

static void any_failing_allocation_is_reported(void **state) {
  (void)state;
  uint64_t dice = 5;
  graph g;
  random_graph(&g, &dice, 20, 8);
  ul_status status = UL_E_MEMORY;
  for (long nth = 1; status == UL_E_MEMORY; nth++) {
    ul_tree *tree = NULL;
    ul_memory_fail_at(nth);
    status = ul_tree_build(&g.in, &tree, NULL);
    if (status == UL_E_MEMORY) assert_null(tree);
    ul_tree_free(tree);
    assert_true(nth < 100);
  }
  ul_memory_fail_at(0);
  assert_int_equal(status, UL_OK);
}

static void order_is_from_the_greatest_down_and_keeps_ties_in_place(void **state) {
  (void)state;
  const double value[] = {0.0, -1, 1e300, -0.0, 3, -INFINITY, 3, INFINITY, 5e-324, -5e-324};
  const uint32_t want[] = {7, 2, 4, 6, 8, 0, 3, 9, 1, 5};
  uint32_t order[10];
  assert_int_equal(ul_order_descending(value, 10, order), UL_OK);
  assert_memory_equal(order, want, sizeof want);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(leaves_are_the_maxima_and_arcs_hold_what_they_say),
      cmocka_unit_test(a_region_cut_off_is_what_a_flood_from_its_leaf_reaches),
      cmocka_unit_test(best_leaves_equal_brute_force_over_all_subsets),
      cmocka_unit_test(one_vent_goes_to_the_dome_not_to_the_horn),
      cmocka_unit_test(the_order_of_the_edges_does_not_show),
      cmocka_unit_test(a_plateau_is_one_leaf_and_a_saddle_belongs_below),
      cmocka_unit_test(bad_graphs_are_refused_with_the_number),
      cmocka_unit_test(an_empty_graph_and_lone_places_have_trees),
      cmocka_unit_test(any_failing_allocation_is_reported),
      cmocka_unit_test(order_is_from_the_greatest_down_and_keeps_ties_in_place),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
