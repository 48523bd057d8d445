#include "ullage/foam_card.h"

#include <ctype.h>
#include <errno.h>
#include <ini.h>
#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/comma.h"
#include "base/fail.h"
#include "rise/foam_curve.h"
#include "rise/foam_keys.h"

typedef struct {
  FILE *stream;
  const char *folder;
  ul_foam *foam;
  ul_error *err;
  ul_status status; /* the first thing found wrong */
  int line;
  int given[64]; /* per key: the line it was given on, 0 if not */
} card;

static ul_status wrong(card *c, const char *key, const char *value, const char *remedy) {
  return ul_fail(c->err, UL_E_CARD, "line %d: %s = %s: %s", c->line, key, value, remedy);
}

/* ---- numbers with units ---- */

/* Reads a number with a point or a comma; NULL when there is none. */
static const char *read_number(const char *text, double *out) {
  char copy[64];
  snprintf(copy, sizeof copy, "%s", text);
  for (char *p = copy; *p; p++)
    if (*p == ',' && isdigit((unsigned char)p[1])) *p = '.';
  char *end;
  *out = strtod(copy, &end);
  if (end == copy || isalpha((unsigned char)*copy)) return NULL; /* nan, inf */
  return text + (end - copy);
}

static const char *skip_blanks(const char *p) {
  while (isblank((unsigned char)*p)) p++;
  return p;
}

/* What may stand between the two numbers of a span. */
static const char *skip_word(const char *p, const char *word) {
  p = skip_blanks(p);
  size_t length = strlen(word);
  return strncmp(p, word, length) == 0 ? skip_blanks(p + length) : NULL;
}

/* `30`, `30-36`, `30 to 36`, `36 +- 4`; NULL when it is none of these. */
static const char *read_span(const char *text, ul_span *out) {
  static const char *const to[] = {"to", "-", "\xe2\x80\x93"}, *const spread[] = {"+-", "+/-",
                                                                                  "\xc2\xb1"};
  double first, second;
  const char *rest = read_number(text, &first), *after = NULL;
  if (!rest) return NULL;
  *out = (ul_span){first, first};
  for (size_t i = 0; i < 3; i++) {
    if ((after = skip_word(rest, spread[i])) && (after = read_number(after, &second))) {
      *out = (ul_span){first - second, first + second};
      return after;
    }
    if ((after = skip_word(rest, to[i])) && (after = read_number(after, &second))) {
      out->hi = second;
      return after;
    }
  }
  return rest;
}

/* Equal but for case, blanks, hyphens and underscores: "Free rise density" is a key we know. */
static bool same_word(const char *a, const char *b) {
  for (;; a++, b++) {
    while (*a && strchr(" \t-_", *a)) a++;
    while (*b && strchr(" \t-_", *b)) b++;
    if (tolower((unsigned char)*a) != tolower((unsigned char)*b)) return false;
    if (!*a) return true;
  }
}

/* Other ways to write a unit. */
static const struct {
  const char *said, *name;
} aliases[] = {{"sec", "s"},     {"secs", "s"},   {"second", "s"},
               {"seconds", "s"}, {"mins", "min"}, {"minutes", "min"},
               {"cps", "cP"},    {"deg C", "C"},  {"deg F", "F"}};

/* Without what only decorates it: a degree sign, a dot between units, a raised 3. */
static void plain_unit(const char *name, char out[32]) {
  static const struct {
    const char *from;
    char to; /* 0: left out */
  } drops[] = {{"\xc2\xb0", 0},   {"\xc2\xba", 0}, {"\xc2\xb7", 0},
               {"\xc2\xb3", '3'}, {".", 0},        {"^", 0}};
  size_t used = 0;
  while (*name && used < 31) {
    size_t k = 0, count = sizeof drops / sizeof *drops;
    while (k < count && strncmp(name, drops[k].from, strlen(drops[k].from)) != 0) k++;
    char keep = k < count ? drops[k].to : *name;
    name += k < count ? strlen(drops[k].from) : 1;
    if (keep) out[used++] = keep;
  }
  out[used] = 0;
  for (size_t i = 0; i < sizeof aliases / sizeof *aliases; i++)
    if (same_word(out, aliases[i].said)) snprintf(out, 32, "%s", aliases[i].name);
}

static const ul_card_unit *find_unit(ul_dimension dimension, const char *written) {
  char name[32];
  plain_unit(written, name);
  for (size_t i = 0; i < ul_card_unit_count; i++)
    if (ul_card_units[i].dimension == dimension && same_word(name, ul_card_units[i].name))
      return &ul_card_units[i];
  return NULL;
}

static void list_units(ul_dimension dimension, char *text, size_t size) {
  size_t used = (size_t)snprintf(text, size, "give the number with its unit:");
  for (size_t i = 0; i < ul_card_unit_count && used < size; i++)
    if (ul_card_units[i].dimension == dimension)
      used += (size_t)snprintf(text + used, size - used, " %s", ul_card_units[i].name);
}

static ul_status read_quantity(card *c, const ul_foam_key *key, const char *value, ul_span *out) {
  char plain[UL_COMMA_WORDS], doubt[120];
  if (ul_comma_is_doubtful(value, plain)) {
    snprintf(doubt, sizeof doubt, "a comma of thousands or a decimal one? write %s", plain);
    return wrong(c, key->name, value, doubt);
  }
  const char *rest = read_span(value, out);
  if (!rest) return wrong(c, key->name, value, "this is no number");
  const ul_card_unit *unit = find_unit(key->dimension, skip_blanks(rest));
  if (!unit) {
    char remedy[120] = "a number alone is wanted here";
    if (key->dimension == UL_PARTS)
      snprintf(remedy, sizeof remedy, "give parts of A to 100 of B, as 52:100");
    else if (key->dimension != UL_PLAIN)
      list_units(key->dimension, remedy, sizeof remedy);
    return wrong(c, key->name, value, remedy);
  }
  *out = (ul_span){out->lo * unit->scale + unit->shift, out->hi * unit->scale + unit->shift};
  return UL_OK;
}

/* ---- lines ---- */

static size_t distance_between(const char *a, const char *b) {
  size_t row[64];
  size_t length = strlen(b) < 63 ? strlen(b) : 63;
  for (size_t j = 0; j <= length; j++) row[j] = j;
  for (size_t i = 1; *a; a++, i++) {
    size_t diagonal = row[0];
    row[0] = i;
    for (size_t j = 1; j <= length; j++) {
      size_t swap = diagonal + (tolower((unsigned char)*a) != tolower((unsigned char)b[j - 1]));
      diagonal = row[j];
      size_t best = row[j] < row[j - 1] ? row[j] + 1 : row[j - 1] + 1;
      row[j] = swap < best ? swap : best;
    }
  }
  return row[length];
}

static ul_status unknown_key(card *c, const char *name) {
  size_t best = 0;
  for (size_t i = 1; i < ul_foam_key_count; i++)
    if (distance_between(name, ul_foam_keys[i].name) <
        distance_between(name, ul_foam_keys[best].name))
      best = i;
  return ul_fail(c->err, UL_E_CARD, "line %d: unknown key '%s': the nearest one is '%s'", c->line,
                 name, ul_foam_keys[best].name);
}

static ul_status set_class(card *c, const char *value) {
  for (int i = 0; i < UL_FOAM_CLASS_END; i++)
    if (same_word(value, ul_foam_class_word((ul_foam_class)i))) {
      c->foam->foam_class = (ul_foam_class)i;
      return UL_OK;
    }
  return wrong(c, "class", value, "give rigid, cushion or self-skinning");
}

static ul_status set_quantity(card *c, const ul_foam_key *key, const char *value, char *field) {
  ul_span span;
  ul_status status = read_quantity(c, key, value, &span);
  if (status != UL_OK) return status;
  if (key->kind == UL_KEY_SPAN)
    memcpy(field, &span, sizeof span);
  else if (span.lo != span.hi)
    return wrong(c, key->name, value, "one number is wanted here, not a span");
  else
    memcpy(field, &span.lo, sizeof span.lo);
  return UL_OK;
}

static ul_status set_text(card *c, const ul_foam_key *key, const char *value) {
  if (strlen(value) >= key->size) return wrong(c, key->name, value, "this is too long");
  snprintf((char *)c->foam + key->offset, key->size, "%s", value);
  return UL_OK;
}

/* Names may hold a #; in every other value it begins a comment. */
static ul_status set(card *c, const ul_foam_key *key, const char *value) {
  if (key->kind == UL_KEY_TEXT) return set_text(c, key, value);
  char plain[256];
  snprintf(plain, sizeof plain, "%.*s", (int)strcspn(value, "#"), value);
  for (size_t n = strlen(plain); n && isblank((unsigned char)plain[n - 1]);) plain[--n] = 0;
  if (key->kind == UL_KEY_CLASS) return set_class(c, plain);
  if (key->kind == UL_KEY_CURVE) return ul_foam_curve_load(c->folder, plain, c->foam, c->err);
  return set_quantity(c, key, plain, (char *)c->foam + key->offset);
}

static ul_status take(card *c, const char *name, const char *value) {
  size_t k = 0;
  while (k < ul_foam_key_count && !same_word(name, ul_foam_keys[k].name)) k++;
  if (k == ul_foam_key_count) return unknown_key(c, name);
  if (c->given[k])
    return ul_fail(c->err, UL_E_CARD, "line %d: '%s' is given again (first on line %d): keep one",
                   c->line, ul_foam_keys[k].name, c->given[k]);
  c->given[k] = c->line;
  return set(c, &ul_foam_keys[k], value);
}

/* inih's handler: 1 goes on. A section's heading carries nothing here. */
static int on_line(void *user, const char *section, const char *name, const char *value) {
  card *c = user;
  (void)section;
  if (c->status == UL_OK) c->status = take(c, name, value);
  return c->status == UL_OK;
}

/* inih's reader: counts lines, and drops blanks in front, which would continue the line before. */
static char *next_line(char *text, int room, void *user) {
  card *c = user;
  if (c->status != UL_OK || !fgets(text, room, c->stream)) return NULL;
  c->line++;
  size_t length = strlen(text);
  if (length && text[length - 1] != '\n' && !feof(c->stream)) {
    c->status =
        ul_fail(c->err, UL_E_CARD, "line %d is longer than %d characters: is this a foam card?",
                c->line, room - 2);
    return NULL;
  }
  const char *from = skip_blanks(text);
  memmove(text, from, strlen(from) + 1);
  return text;
}

static ul_status check_needed(const card *c) {
  for (size_t k = 0; k < ul_foam_key_count; k++)
    if (ul_foam_keys[k].needed && !c->given[k])
      return ul_fail(c->err, UL_E_CARD, "the card says no '%s' (%s): add that line",
                     ul_foam_keys[k].name, ul_foam_keys[k].meaning);
  return UL_OK;
}

/* ---- the whole of it ---- */

static int line_of(const card *c, const char *name) {
  for (size_t k = 0; k < ul_foam_key_count; k++)
    if (strcmp(ul_foam_keys[k].name, name) == 0) return c->given[k];
  return 0;
}

/* What a check says begins with the key's name: its line goes in front. */
static ul_status with_line(const card *c, ul_status status) {
  size_t longest = 0;
  int line = 0;
  ul_error why = *c->err;
  for (size_t k = 0; k < ul_foam_key_count; k++) {
    size_t length = strlen(ul_foam_keys[k].name);
    if (length <= longest || strncmp(why.text, ul_foam_keys[k].name, length) != 0) continue;
    longest = length;
    line = c->given[k];
  }
  return line ? ul_fail(c->err, status, "line %d: %s", line, why.text) : status;
}

/* What the card does not say follows what it says. */
static void fit_defaults(const card *c) {
  ul_foam *f = c->foam;
  double until = fmax(ul_mid(f->rise_s), ul_foam_set_s(f));
  if (!line_of(c, "tack-free") && ul_mid(f->tack_free_s) < until)
    f->tack_free_s = (ul_span){until, until};
  if (!line_of(c, "demould") && ul_mid(f->demould_s) < until)
    f->demould_s = (ul_span){until, until};
}

static ul_status check_demould(const card *c) {
  const ul_foam *f = c->foam;
  bool by_set = ul_foam_set_s(f) > ul_mid(f->rise_s);
  double until = by_set ? ul_foam_set_s(f) : ul_mid(f->rise_s);
  if (ul_mid(f->demould_s) >= until) return UL_OK;
  return ul_fail(c->err, UL_E_CARD,
                 "line %d: demould at %g s comes before %s at %g s, while the foam still presses: "
                 "check both times",
                 line_of(c, "demould"), ul_mid(f->demould_s), by_set ? "set" : "rise", until);
}

/* So much of a measured rise may be up at cream, and must be at the rise time where that ends it:
 * the program's own choice. */
static const double most_at_cream = 0.5, least_at_rise = 0.9;

static ul_status check_curve_times(const card *c) {
  const ul_foam *f = c->foam;
  if (!f->curve_count) return UL_OK;
  double end = f->curve_s[f->curve_count - 1], cream = ul_mid(f->cream_s);
  double up = ul_foam_curve_at(f, cream);
  if (up >= most_at_cream)
    return ul_fail(c->err, UL_E_CARD,
                   "line %d: rise curve is %.0f %% up at cream, %g s (it ends at %g s): both run "
                   "from the start of mixing, check them",
                   line_of(c, "rise curve"), 100 * up, cream, end);
  up = ul_foam_curve_at(f, ul_foam_set_s(f));
  if (f->set_s > 0 || up >= least_at_rise) return UL_OK;
  return ul_fail(c->err, UL_E_CARD,
                 "line %d: rise curve is only %.0f %% up at rise, %g s, where the foam stops; it "
                 "ends at %g s: give that as rise, or say when it stops (set)",
                 line_of(c, "rise curve"), 100 * up, ul_mid(f->rise_s), end);
}

static ul_status check_whole(const card *c) {
  ul_status status = check_needed(c);
  if (status != UL_OK) return status;
  fit_defaults(c);
  status = ul_foam_check(c->foam, c->err);
  if (status != UL_OK) return with_line(c, status);
  status = check_demould(c);
  return status == UL_OK ? check_curve_times(c) : status;
}

static ul_status read_lines(card *c) {
  int broken = ini_parse_stream(next_line, c, on_line, c);
  if (c->status != UL_OK) return c->status;
  if (broken) /* inih's own complaint: a line without = */
    return ul_fail(c->err, UL_E_CARD, "line %d is not `key = value unit`: is this a foam card?",
                   broken);
  return check_whole(c);
}

ul_status ul_foam_read(FILE *stream, const char *folder, ul_foam *out, ul_error *err) {
  ul_foam foam = ul_foam_middling();
  *foam.note = 0;
  ul_error unread = {0};
  card c = {.stream = stream, .folder = folder, .foam = &foam, .err = err ? err : &unread};
  locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
  if (!plain) return ul_fail_memory(err);
  locale_t before = uselocale(plain); /* a comma locale would read 0.5 as 0 */
  ul_status status = read_lines(&c);
  uselocale(before);
  freelocale(plain);
  if (status == UL_OK) *out = foam;
  return status;
}

/* A folder opens as a file does, and reads as an empty one. */
static FILE *open_card(const char *path) {
  FILE *stream = fopen(path, "r");
  struct stat s;
  if (!stream || fstat(fileno(stream), &s) != 0 || !S_ISDIR(s.st_mode)) return stream;
  fclose(stream);
  errno = EISDIR;
  return NULL;
}

ul_status ul_foam_load(const char *name_or_path, ul_foam *out, ul_error *err) {
  for (size_t i = 0; i < ul_foam_generic_count(); i++)
    if (strcmp(name_or_path, ul_foam_generic(i)->name) == 0) {
      *out = *ul_foam_generic(i);
      return UL_OK;
    }
  FILE *stream = open_card(name_or_path);
  if (!stream)
    return ul_fail(err, UL_E_READ,
                   "%s: %s; it is no generic card either: `ullage foams` lists those", name_or_path,
                   strerror(errno));
  char folder[4096];
  const char *slash = strrchr(name_or_path, '/');
  snprintf(folder, sizeof folder, "%.*s", slash ? (int)(slash - name_or_path) + 1 : 0,
           name_or_path);
  ul_status status = ul_foam_read(stream, folder, out, err);
  fclose(stream);
  return status;
}
