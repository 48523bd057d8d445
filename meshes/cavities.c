#include "cavities.h"

#include <math.h>

static double mix(double a, double b, double t) {
  return a + (b - a) * t;
}

static double square(double x) {
  return x * x;
}

static double clamp01(double x) {
  return fmin(1, fmax(0, x));
}

/* -- bow ball: u the angle in degrees, clockwise from above, v from the socket's wall or the axis
 * (0) to the outside (2) with the wall at 1, w a ring of the profile -- */

enum { BALL_FLANGE = 4, BALL_ARC = 30, BALL_FLOOR = 16, BALL_RINGS = BALL_FLANGE + BALL_ARC };

/* Outside of ring w. The collar's lip hangs up and over: a ring of air when the ball is up. */
static void ball_outside(int w, double *r, double *z) {
  static const double collar[BALL_FLANGE][2] = {{26, 0}, {30, 4}, {30, 12}, {22, 8}};
  if (w < BALL_FLANGE) {
    *r = collar[w][0], *z = collar[w][1];
    return;
  }
  double radius = 32, foot = -acos(22 / radius), sink = radius * sin(-foot);
  double angle = mix(foot, M_PI_2, (w - BALL_FLANGE + 1) / (double)BALL_ARC);
  *r = w == BALL_RINGS - 1 ? 0 : radius * cos(angle);
  *z = 8 + sink + radius * sin(angle);
}

/* The socket: a pyramid stump 28 mm wide at the mouth, 18 mm at its floor 34 mm up, its corners at
 * 30 degrees. */
static void ball_socket(double degrees, int w, double *r, double *z) {
  double deep = clamp01(w / (double)BALL_FLOOR), half = mix(14, 9, deep);
  double x = fabs(cos(degrees * M_PI / 180)), y = fabs(sin(degrees * M_PI / 180));
  *r = half / fmax(x, y / tan(M_PI / 6));
  *z = 34 * deep;
}

static void ball_map(const double uvw[3], double at[3]) {
  double outer, outer_z, inner, inner_z;
  int w = (int)lrint(uvw[2]);
  ball_outside(w, &outer, &outer_z);
  ball_socket(uvw[0], w, &inner, &inner_z);
  bool above = w > BALL_FLOOR;
  double r = uvw[1] < 1 ? inner * uvw[1] : mix(inner, outer, uvw[1] - 1);
  if (above) r = outer * uvw[1] / 2; /* no wall up there, only the outside shows */
  at[0] = r * cos(uvw[0] * M_PI / 180);
  at[1] = -r * sin(uvw[0] * M_PI / 180);
  at[2] = above || uvw[1] > 1 ? mix(inner_z, outer_z, fmax(0, uvw[1] - 1)) : inner_z;
}

static bool ball_solid(const double m[3]) {
  return m[1] > 1 || m[2] > BALL_FLOOR;
}

blocks bow_ball(void) {
  blocks b = {.ring = true, .solid = ball_solid, .map = ball_map};
  blocks_from(&b, 0, 0);
  blocks_to(&b, 0, 360, 96);
  blocks_from(&b, 1, 0);
  blocks_to(&b, 1, 1, 2);
  blocks_to(&b, 1, 2, 2);
  blocks_from(&b, 2, 0);
  blocks_to(&b, 2, BALL_RINGS - 1, BALL_RINGS - 1);
  return b;
}

/* -- seat pad: u and v over its plan, -1 to 1, w from underside to top -- */

/* From a square to a rounded oblong: rings of the square are pressed towards a superellipse, the
 * more the farther out they lie. */
static void pad_plan(double u, double v, double *x, double *y) {
  double ring = fmax(fabs(u), fabs(v)), press = 1;
  if (ring > 0) {
    double round = pow(pow(fabs(u) / ring, 5) + pow(fabs(v) / ring, 5), -1.0 / 5);
    press = mix(1, round, square(ring));
  }
  *x = 145 * u * press;
  *y = 115 * v * press;
}

/* How much of a sit bone's hollow is at (x,y): 1 in its middle. */
static double pad_hollow(double x, double y) {
  return exp(-(square(fabs(x) - 52) + square(y - 10)) / (2 * square(26)));
}

static void pad_map(const double uvw[3], double at[3]) {
  double x, y;
  pad_plan(uvw[0], uvw[1], &x, &y);
  double hollow = pad_hollow(x, y), thick = mix(10, 5, hollow);
  double dish = 20 * square(x / 145) + 24 * square(fmax(0, y - 25) / 90) -
                6 * square(fmax(0, -y - 60) / 55) - 11 * hollow;
  at[0] = x;
  at[1] = y;
  at[2] = dish + thick * (uvw[2] - 0.5);
}

static bool pad_solid(const double m[3]) {
  return fabs(m[0]) > 0.12 || m[1] < 0.55;
}

blocks seat_pad(void) {
  blocks b = {.solid = pad_solid, .map = pad_map};
  blocks_from(&b, 0, -1);
  blocks_to(&b, 0, -0.12, 34);
  blocks_to(&b, 0, 0.12, 8);
  blocks_to(&b, 0, 1, 34);
  blocks_from(&b, 1, -1);
  blocks_to(&b, 1, 0.55, 46);
  blocks_to(&b, 1, 1, 14);
  blocks_from(&b, 2, 0);
  blocks_to(&b, 2, 1, 2);
  return b;
}

/* -- rigger float: u along it in mm, v across -1 to 1, w in mm from the chine (-50) to the deck
 * (0), the hull's bottom under it, the ribs above -- */

enum { FLOAT_HULL = -60, FLOAT_CHINE = -50, FLOAT_RIB = 10 };
static const double pipe_z = -25, pipe_radius = 13, pipe_cell = 12, pipe_reach = 22;

/* 0 in the parallel middle body, 1 at the ends. */
static double float_end(double x) {
  return clamp01((fabs(x) - 120) / 180);
}

/* Bends the square hole of half width pipe_cell into a circle; leaves all beyond pipe_reach. */
static void float_pipe(double *x, double *z) {
  double dx = *x, dz = *z - pipe_z, ring = fmax(fabs(dx), fabs(dz));
  if (ring >= pipe_reach || ring == 0) return;
  bool sideways = fabs(dx) >= fabs(dz);
  double angle = M_PI_4 * (sideways ? dz / dx : dx / dz);
  double along = copysign(cos(angle), sideways ? dx : dz);
  double across = copysign(sin(fabs(angle)), sideways ? dz : dx);
  double bend = clamp01((pipe_reach - ring) / (pipe_reach - pipe_cell));
  *x = mix(dx, pipe_radius * (sideways ? along : across), bend);
  *z = pipe_z + mix(dz, pipe_radius * (sideways ? across : along), bend);
}

static void float_map(const double uvw[3], double at[3]) {
  double x = uvw[0], v = uvw[1], w = uvw[2], end = square(float_end(x));
  double rise = 1 - 0.55 * end, z = fmin(0, fmax(FLOAT_CHINE, w)), deck = 6 * (1 - v * v);
  float_pipe(&x, &z);
  z *= rise;
  if (w > -3) z += deck * (fmin(0, w) + 3) / 3;
  if (w > 0) z = mix(z, 22, w / FLOAT_RIB);
  if (w < FLOAT_CHINE) z -= 35 * rise * (1 - v * v) * (FLOAT_CHINE - w) / 10;
  at[0] = x;
  at[1] = 65 * v * (1 - 0.85 * end);
  at[2] = z;
}

static bool float_solid(const double m[3]) {
  bool pipe = fabs(m[0]) < pipe_cell && fabs(m[2] - pipe_z) < pipe_cell;
  bool rib = fabs(fabs(m[0]) - 60) < 2.5 || fabs(fabs(m[0]) - 150) < 2.5;
  return m[2] > 0 ? rib && fabs(m[1]) < 0.75 : !pipe;
}

blocks rigger_float(void) {
  static const struct {
    double to;
    int cells;
  } half[] = {{12, 5}, {22, 3}, {57.5, 3}, {62.5, 1}, {120, 4}, {147.5, 4}, {152.5, 1}, {300, 20}};
  blocks b = {.solid = float_solid, .map = float_map};
  blocks_from(&b, 0, -300);
  for (int i = 7; i > 0; i--) blocks_to(&b, 0, -half[i - 1].to, half[i].cells);
  blocks_to(&b, 0, 12, 10);
  for (int i = 1; i < 8; i++) blocks_to(&b, 0, half[i].to, half[i].cells);
  blocks_from(&b, 1, -1);
  blocks_to(&b, 1, -0.75, 5);
  blocks_to(&b, 1, 0.75, 24);
  blocks_to(&b, 1, 1, 5);
  blocks_from(&b, 2, FLOAT_HULL);
  blocks_to(&b, 2, FLOAT_CHINE, 1);
  blocks_to(&b, 2, -47, 1);
  blocks_to(&b, 2, pipe_z - pipe_cell, 3);
  blocks_to(&b, 2, pipe_z + pipe_cell, 10);
  blocks_to(&b, 2, -3, 3);
  blocks_to(&b, 2, 0, 1);
  blocks_to(&b, 2, FLOAT_RIB, 1);
  return b;
}

/* -- dock fender: u along it in mm, v the angle round the D in degrees (0 at its crown), w in mm
 * up to the spring line (40), the dome (to 60) and the bands (to 70) above -- */

enum { FENDER_SPRING = 40, FENDER_DOME = 60, FENDER_BAND = 70 };

/* Bands 30 mm wide stand out from the dome; its ends are rounded down. */
static void fender_map(const double uvw[3], double at[3]) {
  double angle = uvw[1] * M_PI / 180, w = uvw[2];
  double end = clamp01((fabs(uvw[0]) - 150) / 60);
  double height = 55 * mix(0.35, 1, sqrt(1 - square(end)));
  double dome = clamp01((w - FENDER_SPRING) / (FENDER_DOME - FENDER_SPRING));
  double band = 6 * clamp01((w - FENDER_DOME) / (FENDER_BAND - FENDER_DOME));
  bool side = fabs(uvw[1]) == 90;
  at[0] = uvw[0];
  at[1] = (55 + band) * sin(angle);
  at[2] = fmin(w, FENDER_SPRING) + (side ? 0 : dome * (height + band) * cos(angle));
}

static double fender_angle(double y_mm) {
  return asin(y_mm / 55) * 180 / M_PI;
}

static bool fender_solid(const double m[3]) {
  double y = 55 * fabs(sin(m[1] * M_PI / 180)), x = fabs(m[0]), w = m[2];
  bool slot = (y < 10 && w < 8) || (y < 20 && w > 8 && w < 18);
  bool board = x < 130 && y < 25 && w > 26 && w < 38;
  bool band = x < 15 || fabs(x - 100) < 15;
  return w > FENDER_DOME ? band : !slot && !board;
}

blocks dock_fender(void) {
  blocks b = {.solid = fender_solid, .map = fender_map};
  static const double stop[] = {-150, -130, -115, -85, -15, 15, 85, 115, 130, 150};
  blocks_from(&b, 0, -210);
  for (int i = 0; i < 10; i++) blocks_to(&b, 0, stop[i], i == 0 ? 16 : 3);
  blocks_to(&b, 0, 210, 16);
  static const double y[] = {-25, -20, -10, 10, 20, 25};
  static const int cells[] = {14, 2, 4, 8, 4, 2};
  blocks_from(&b, 1, -90);
  for (int i = 0; i < 6; i++) blocks_to(&b, 1, fender_angle(y[i]), cells[i]);
  blocks_to(&b, 1, 90, 14);
  static const double z[] = {8, 18, 26, 38, FENDER_SPRING, FENDER_DOME, FENDER_BAND};
  blocks_from(&b, 2, 0);
  for (int i = 0; i < 7; i++) blocks_to(&b, 2, z[i], 1);
  return b;
}

/* -- rack saddle: u along the cradle in degrees of its arc about (0,150), -70 to 70, then along the
 * horns to -170 (long) and 170 (short); v across the depth -1 to 1; w from the foot (-1) to the
 * cradle's outside (0) and its inside (1) -- */

static const double saddle_arc = 70, saddle_tip = 170;

/* How far along a horn, 0 to 1. */
static double saddle_horn(double u) {
  return clamp01((fabs(u) - saddle_arc) / (saddle_tip - saddle_arc));
}

static void saddle_map(const double uvw[3], double at[3]) {
  double horn = saddle_horn(uvw[0]), w = fmax(0, uvw[2]);
  double turn = fmin(saddle_arc, fabs(uvw[0])) * M_PI / 180, side = copysign(1, uvw[0]);
  double radius = mix(130, 100, mix(w, mix(0.15, 0.85, w), horn)); /* horns grow slimmer */
  double tip = 12 * clamp01(2.5 * horn - 1.5) * (1 - square(2 * w - 1)) * (1 - square(uvw[1]));
  double length = (side < 0 ? 95 : 70) * horn + tip;
  at[0] = side * (radius * sin(turn) + length * cos(turn));
  at[1] = uvw[1] * mix(30, 20, horn);
  at[2] = 150 - radius * cos(turn) + length * sin(turn);
  if (uvw[2] < 0) {
    at[0] = mix(at[0], 80 * uvw[0] / 30, -uvw[2]);
    at[2] = mix(at[2], 0, -uvw[2]);
  }
}

static bool saddle_strap(const double m[3]) {
  double horn = saddle_horn(m[0]);
  return horn > 0.2 && horn < 0.4 && fabs(m[1]) < 0.5;
}

static bool saddle_solid(const double m[3]) {
  return m[2] < 0 ? fabs(m[0]) < 30 : !saddle_strap(m);
}

static const char *saddle_face(const double m[3], int axis, int side) {
  double horn = saddle_horn(m[0]);
  if (m[2] < 0) return axis == 2 ? "foot-sole" : "foot-sides";
  if (axis == 0 && horn > 0.9) return m[0] < 0 ? "long-horn-tip" : "short-horn-tip";
  if (axis == 0 || (axis == 1 && fabs(m[1]) < 0.6)) return "strap-slots";
  if (axis == 1) return side ? "back" : "front";
  if (side == 0) return "outside";
  if (horn > 0) return m[0] < 0 ? "long-horn-inside" : "short-horn-inside";
  return "cradle";
}

blocks rack_saddle(void) {
  blocks b = {.solid = saddle_solid, .map = saddle_map, .face = saddle_face};
  static const struct {
    double to;
    int cells;
  } half[] = {{30, 8}, {70, 12}, {90, 3}, {110, 4}, {130, 3}, {170, 10}};
  blocks_from(&b, 0, -170);
  for (int i = 5; i > 0; i--) blocks_to(&b, 0, -half[i - 1].to, half[i].cells);
  blocks_to(&b, 0, 30, 16);
  for (int i = 1; i < 6; i++) blocks_to(&b, 0, half[i].to, half[i].cells);
  blocks_from(&b, 1, -1);
  blocks_to(&b, 1, -0.5, 4);
  blocks_to(&b, 1, 0.5, 8);
  blocks_to(&b, 1, 1, 4);
  blocks_from(&b, 2, -1);
  blocks_to(&b, 2, 0, 4);
  blocks_to(&b, 2, 1, 8);
  return b;
}
