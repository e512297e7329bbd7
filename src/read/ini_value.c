/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values of trial.ini: quantities, ranges, limits, criteria, words, lists. A value is read without
 * knowing where it stands; what is wrong comes back with its bytes.
 *
 * A value is a row of terms, a term a number with or without a unit. All units of one value must be
 * the same; a term without one takes it from the others. Where a dot stands it is a decimal mark:
 * this file has a format of its own. A comma is one too where nothing else is possible (`0,85`,
 * `1,5`), and refused where it is (`1,234`).
 */
#include <math.h>

#include "ini.h"
#include "ini_number.h"
#include "units.h"

#define TERMS_MAX 3

struct term {
    double value;
    size_t from, to; /* of the whole term */
    size_t unit_from, unit_to;
};

struct scan {
    const struct ini_ask *ask;
    const char *s;
    size_t at, n;
    struct ini_trouble *trouble;
    const char *note;
    struct term terms[TERMS_MAX];
    size_t n_terms;
};

/* ---- trouble ----------------------------------------------------------------------------------
 */

static bool trouble(struct scan *c, size_t from, size_t to, const char *code, const char *message,
                    const char *expected)
{
    *c->trouble = (struct ini_trouble){
        .code = code,
        .message = message,
        .expected = expected,
        .remedy = arena_printf(c->ask->arena, "write for example `%s = %s`", c->ask->key,
                               c->ask->example),
        .from = from,
        .to = to > from ? to : from,
    };
    return false;
}

static const char *piece(const struct scan *c, size_t from, size_t to)
{
    return text_harmless(c->ask->arena, c->s + from, to > from ? to - from : 0);
}

static bool not_a_quantity(struct scan *c, size_t from)
{
    struct arena *a = c->ask->arena;
    if (from >= c->n)
        return trouble(c, 0, c->n, "not-a-quantity",
                       arena_printf(a, "the value of %s ends too early", c->ask->key), "a number");
    return trouble(c, from, c->n, "not-a-quantity",
                   arena_printf(a, "`%s` is not a number", piece(c, from, c->n)), "a number");
}

/* ---- terms ------------------------------------------------------------------------------------
 */

static size_t blank_at(const char *s)
{
    if (*s == ' ' || *s == '\t')
        return 1;
    if (strncmp(s, "\xC2\xA0", 2) == 0) /* no-break space */
        return 2;
    if (strncmp(s, "\xE2\x80\x89", 3) == 0 || strncmp(s, "\xE2\x80\xAF", 3) == 0) /* thin ones */
        return 3;
    return 0;
}

static void skip_blanks(struct scan *c)
{
    for (size_t n = blank_at(c->s + c->at); n > 0; n = blank_at(c->s + c->at))
        c->at += n;
}

static bool accept(struct scan *c, const char *word)
{
    size_t n = strlen(word);
    if (strncmp(c->s + c->at, word, n) != 0)
        return false;
    c->at += n;
    skip_blanks(c);
    return true;
}

/* Where a unit ends: before what may follow a term. */
static bool unit_ends(const struct scan *c, size_t at, bool after_blank)
{
    const char *s = c->s + at;
    if (*s == '\0' || *s == ',' || *s == ';' || *s == '+' || strncmp(s, "..", 2) == 0 ||
        strncmp(s, "\xE2\x80\xA6", 3) == 0 || strncmp(s, "\xC2\xB1", 2) == 0) /* ellipsis, +- */
        return true;
    if (!after_blank)
        return false;
    return *s == '-' || *s == '/' || strncmp(s, "\xE2\x88\x92", 3) == 0 ||
           strncmp(s, "\xE2\x80\x93", 3) == 0 || /* minus, en dash */
           strncmp(s, "or ", 3) == 0 || strncmp(s, "to ", 3) == 0;
}

/* `1,234`: 1234 to some, 1.234 to others. */
static bool two_readings(struct scan *c, size_t from)
{
    const char *typed = piece(c, from, c->at);
    struct text large, small;
    text_init(&large, c->ask->arena);
    text_init(&small, c->ask->arena);
    for (const char *s = typed; *s != '\0'; s++) {
        if (*s != ',')
            text_add_char(&large, *s);
        text_add_char(&small, *s == ',' ? '.' : *s);
    }
    return trouble(c, from, c->at, "ambiguous-number",
                   arena_printf(c->ask->arena, "`%s` can be %s or %s", typed, large.s, small.s),
                   "a decimal point, and no mark between thousands");
}

/* Number, and what stands behind it up to the end of the term. */
static bool read_term(struct scan *c)
{
    if (c->n_terms == TERMS_MAX)
        return not_a_quantity(c, c->at);
    struct term *t = &c->terms[c->n_terms];
    skip_blanks(c);
    *t = (struct term){.from = c->at};
    struct ini_number number = ini_number_read(c->s + c->at);
    if (number.answer == INI_NUMBER_NONE)
        return not_a_quantity(c, c->at);
    size_t from = c->at;
    c->at += number.length;
    if (number.answer == INI_NUMBER_TWO_READINGS)
        return two_readings(c, from);
    t->value = number.value;
    if (number.repaired && c->note == NULL) {
        struct text note;
        text_init(&note, c->ask->arena);
        text_addf(&note, "`%s` read as ", piece(c, from, c->at));
        text_add_fixed(&note, number.value, number.decimals);
        c->note = note.s;
    }
    skip_blanks(c);
    t->unit_from = t->unit_to = c->at;
    bool after_blank = true;
    while (!unit_ends(c, c->at, after_blank)) {
        size_t blank = blank_at(c->s + c->at);
        after_blank = blank > 0;
        c->at += blank > 0 ? blank : 1;
        if (blank == 0)
            t->unit_to = c->at;
    }
    t->to = t->unit_to;
    c->n_terms++;
    return true;
}

static bool at_end(struct scan *c)
{
    skip_blanks(c);
    return c->at >= c->n;
}

static bool must_end(struct scan *c)
{
    if (at_end(c))
        return true;
    return trouble(
        c, c->at, c->n, "not-a-quantity",
        arena_printf(c->ask->arena, "`%s` is not understood here", piece(c, c->at, c->n)), NULL);
}

/* ---- units ------------------------------------------------------------------------------------
 */

static bool has_unit(const struct term *t)
{
    return t->unit_to > t->unit_from;
}

/* How a message names what is asked for: "a pressure in bar, MPa, ...". */
static const char *wanted(const struct scan *c, enum dimension d)
{
    const char *name = dimension_name(d);
    return arena_printf(c->ask->arena, "%s %s in %s", strchr("aeiou", name[0]) != NULL ? "an" : "a",
                        name, unit_accepted(d));
}

static bool speed_in_other_terms(enum dimension d, const struct unit *u)
{
    return d == DIM_SPEED && u != NULL &&
           (u->dimension == DIM_VOLUME_RATE || u->dimension == DIM_RATIO);
}

static bool find_unit(struct scan *c, enum dimension d, const struct term *t,
                      const struct unit **out)
{
    struct arena *a = c->ask->arena;
    struct unit_result r = unit_find_for(d, c->s + t->unit_from, t->unit_to - t->unit_from);
    const char *typed = piece(c, t->unit_from, t->unit_to);
    if (r.answer == UNIT_OK || speed_in_other_terms(d, r.unit)) {
        *out = r.unit;
        return true;
    }
    if (r.answer == UNIT_ASK)
        return trouble(c, t->unit_from, t->unit_to, "unit-has-two-readings", r.question,
                       wanted(c, d));
    if (r.answer == UNIT_WRONG_DIMENSION)
        return trouble(
            c, t->unit_from, t->unit_to, "unit-of-other-kind",
            arena_printf(a, "`%s` is a unit of %s", typed, dimension_name(r.unit->dimension)),
            wanted(c, d));
    return trouble(c, t->unit_from, t->unit_to, "unit-not-known",
                   arena_printf(a, "`%s` is not a unit known here", typed), wanted(c, d));
}

static const char any_unit[] = "a unit behind the number: mm, in, g, N, kN, bar, degC, %, ...";

/* The one unit of all terms; *unit stays NULL for a plain number. DIM_TEXT asks for a unit of any
 * dimension. */
static bool common_unit(struct scan *c, enum dimension d, const struct unit **unit)
{
    struct arena *a = c->ask->arena;
    *unit = NULL;
    for (size_t i = 0; i < c->n_terms; i++) {
        const struct term *t = &c->terms[i];
        if (!has_unit(t))
            continue;
        if (d == DIM_COUNT)
            return trouble(c, t->unit_from, t->unit_to, "unit-not-wanted",
                           arena_printf(a, "`%s` stands behind a plain number",
                                        piece(c, t->unit_from, t->unit_to)),
                           "a number without a unit");
        const struct unit *u = NULL;
        enum dimension ask = d;
        if (d == DIM_TEXT) {
            u = unit_find(c->s + t->unit_from, t->unit_to - t->unit_from, NULL);
            ask = u != NULL ? u->dimension : DIM_RATIO; /* which knows `1` beside the table */
        }
        if (u == NULL && !find_unit(c, ask, t, &u)) {
            if (d == DIM_TEXT)
                c->trouble->expected = any_unit;
            return false;
        }
        if (*unit != NULL && *unit != u)
            return trouble(c, t->unit_from, t->unit_to, "two-units",
                           arena_printf(a, "two units in one value: %s and %s", (*unit)->spelling,
                                        u->spelling),
                           "one unit behind the last number");
        *unit = u;
    }
    if (*unit == NULL && d != DIM_COUNT)
        return trouble(c, 0, c->n, "unit-missing",
                       arena_printf(a, "`%s` has no unit", piece(c, 0, c->n)),
                       d == DIM_TEXT ? any_unit : wanted(c, d));
    return true;
}

static double canonical(const struct unit *u, double v)
{
    return u != NULL ? v * u->factor + u->offset : v;
}

/* ---- values ------------------------------------------------------------------------------------
 */

/* A comment behind a value begins with `#` or `;` after a blank. */
static void begin(struct scan *c, const struct ini_ask *ask, struct ini_value *out,
                  struct ini_trouble *t)
{
    size_t n = strlen(ask->value);
    for (size_t i = 1; i < n; i++)
        if ((ask->value[i] == '#' || ask->value[i] == ';') &&
            (ask->value[i - 1] == ' ' || ask->value[i - 1] == '\t')) {
            n = i;
            break;
        }
    while (n > 0 && (ask->value[n - 1] == ' ' || ask->value[n - 1] == '\t'))
        n--;
    char *s = arena_copy_n(ask->arena, ask->value, n);
    *c = (struct scan){.ask = ask, .s = s, .n = n, .trouble = t};
    *out = (struct ini_value){
        .low = NAN, .high = NAN, .relative = NAN, .text = text_harmless(ask->arena, s, n)};
}

bool ini_read_quantity(const struct ini_ask *ask, enum dimension d, struct ini_value *out,
                       struct ini_trouble *t)
{
    struct scan c;
    const struct unit *u;
    begin(&c, ask, out, t);
    if (!read_term(&c) || !must_end(&c) || !common_unit(&c, d, &u))
        return false;
    out->low = out->high = canonical(u, c.terms[0].value);
    out->found = u != NULL ? u->dimension : d;
    out->unit = u;
    out->note = c.note;
    return true;
}

static bool accept_range_mark(struct scan *c)
{
    skip_blanks(c);
    return accept(c, "...") || accept(c, "..") || accept(c, "\xE2\x80\xA6") || accept(c, "to ");
}

/* "200..230 degC", its low and high end behind one another. */
static bool range_of_terms(struct scan *c, enum dimension d, struct ini_value *out)
{
    const struct unit *u;
    if (!read_term(c) || !must_end(c) || !common_unit(c, d, &u))
        return false;
    if (!(c->terms[0].value < c->terms[1].value))
        return trouble(c, c->terms[0].from, c->terms[1].to, "range-reversed",
                       "the range ends below its start", "the lower value first");
    out->low = canonical(u, c->terms[0].value);
    out->high = canonical(u, c->terms[1].value);
    out->found = u != NULL ? u->dimension : d;
    out->unit = u;
    out->note = c->note;
    return true;
}

static bool dash_range(struct scan *c)
{
    return trouble(
        c, 0, c->n, "range-with-dash",
        arena_printf(c->ask->arena, "`%s` can be a range or a subtraction", piece(c, 0, c->n)),
        "two dots between the ends of a range");
}

static bool at_dash(const struct scan *c)
{
    return c->s[c->at] == '-' || strncmp(c->s + c->at, "\xE2\x80\x93", 3) == 0 ||
           strncmp(c->s + c->at, "\xE2\x88\x92", 3) == 0;
}

bool ini_read_range(const struct ini_ask *ask, enum dimension d, struct ini_value *out,
                    struct ini_trouble *t)
{
    struct scan c;
    const struct unit *u;
    begin(&c, ask, out, t);
    if (!read_term(&c))
        return false;
    if (accept_range_mark(&c))
        return range_of_terms(&c, d, out);
    if (at_dash(&c))
        return dash_range(&c);
    if (!must_end(&c) || !common_unit(&c, d, &u))
        return false;
    out->low = out->high = canonical(u, c.terms[0].value);
    out->found = u != NULL ? u->dimension : d;
    out->unit = u;
    out->note = c.note;
    return true;
}

/* ---- limits of a characteristic ---------------------------------------------------------------
 */

static const char not_at_ejection[] = "not at ejection";

/* Takes ", not at ejection" off the end; true when it was there. */
static bool cut_ejection_words(struct scan *c, struct ini_value *out)
{
    const char *comma = strrchr(c->s, ',');
    if (comma == NULL || !ini_same_name(comma + 1, not_at_ejection))
        return false;
    size_t n = (size_t)(comma - c->s);
    while (n > 0 && c->s[n - 1] == ' ')
        n--;
    c->s = arena_copy_n(c->ask->arena, c->s, n);
    c->n = n;
    out->text = arena_printf(c->ask->arena, "%s, %s", text_harmless(c->ask->arena, c->s, n),
                             not_at_ejection);
    return true;
}

static bool one_sided(struct scan *c, bool at_least, struct ini_value *out)
{
    const struct unit *u;
    if (!read_term(c) || !must_end(c) || !common_unit(c, DIM_TEXT, &u))
        return false;
    double v = canonical(u, c->terms[0].value);
    out->low = at_least ? v : -PL_INF;
    out->high = at_least ? PL_INF : v;
    out->found = u->dimension;
    return true;
}

static bool limits_needed(struct scan *c)
{
    return trouble(c, 0, c->n, "limits-missing",
                   arena_printf(c->ask->arena, "`%s` gives no limits", piece(c, 0, c->n)),
                   "`31.20 +0.05 -0.05 mm`, `1.10..1.16 mm`, `>= 12 N` or `<= 3 mm`");
}

/* Behind the nominal value: "+0.05 -0.05", "+0.05/-0.02". */
static bool tolerances(struct scan *c, struct ini_value *out)
{
    const struct unit *u;
    bool is_signed = c->s[c->at] == '+' || at_dash(c);
    if (!is_signed)
        return at_end(c) ? limits_needed(c) : must_end(c);
    if (!read_term(c))
        return false;
    skip_blanks(c);
    accept(c, "/");
    if (at_end(c))
        return trouble(c, c->terms[1].from, c->n, "limits-missing",
                       "the second tolerance is missing", "both, as in `31.20 +0.05 -0 mm`");
    if (c->s[c->at] != '+' && !at_dash(c))
        return must_end(c);
    if (!read_term(c) || !must_end(c) || !common_unit(c, DIM_TEXT, &u))
        return false;
    double nominal = c->terms[0].value, a = c->terms[1].value, b = c->terms[2].value;
    if (a == b)
        return limits_needed(c);
    out->low = canonical(u, nominal + (a < b ? a : b));
    out->high = canonical(u, nominal + (a < b ? b : a));
    out->found = u->dimension;
    return true;
}

static bool plus_minus(struct scan *c, struct ini_value *out)
{
    const struct unit *u;
    if (!read_term(c) || !must_end(c) || !common_unit(c, DIM_TEXT, &u))
        return false;
    double half = c->terms[1].value;
    if (!(half > 0.0))
        return limits_needed(c);
    out->low = canonical(u, c->terms[0].value - half);
    out->high = canonical(u, c->terms[0].value + half);
    out->found = u->dimension;
    return true;
}

bool ini_read_limits(const struct ini_ask *ask, struct ini_value *out, struct ini_trouble *t)
{
    struct scan c;
    begin(&c, ask, out, t);
    cut_ejection_words(&c, out);
    skip_blanks(&c);
    bool ok;
    if (accept(&c, ">=") || accept(&c, "\xE2\x89\xA5") || accept(&c, ">")) {
        ok = one_sided(&c, true, out);
    } else if (accept(&c, "<=") || accept(&c, "\xE2\x89\xA4") || accept(&c, "<")) {
        ok = one_sided(&c, false, out);
    } else if (!read_term(&c)) {
        return false;
    } else if (accept_range_mark(&c)) {
        ok = range_of_terms(&c, DIM_TEXT, out);
    } else if (accept(&c, "\xC2\xB1") || accept(&c, "+/-") || accept(&c, "+-")) {
        ok = plus_minus(&c, out);
    } else {
        ok = tolerances(&c, out);
    }
    out->note = c.note;
    return ok;
}

/* ---- criteria ---------------------------------------------------------------------------------
 */

static bool takes_absolute(const struct criterion_spec *spec)
{
    bool plain = spec->dimension == DIM_COUNT || spec->dimension == DIM_RATIO;
    return spec->dimension != DIM_TEXT && (!plain || !isnan(spec->absolute));
}

static const char *criterion_wanted(const struct scan *c, const struct criterion_spec *spec)
{
    struct text t;
    text_init(&t, c->ask->arena);
    if (takes_absolute(spec) && spec->dimension != DIM_COUNT)
        text_add(&t, unit_accepted(spec->dimension));
    if (takes_absolute(spec) && spec->dimension == DIM_COUNT)
        text_add(&t, "a plain number");
    if (!isnan(spec->relative))
        text_add(&t, t.length > 0 ? ", or %" : "%");
    return t.s;
}

/* One term into the absolute or the relative part. */
static bool criterion_term(struct scan *c, const struct criterion_spec *spec, const struct term *t,
                           struct ini_value *out)
{
    struct arena *a = c->ask->arena;
    const struct unit *u = NULL;
    bool absolute = takes_absolute(spec);
    if (has_unit(t)) {
        bool percent =
            unit_find_for(DIM_RATIO, c->s + t->unit_from, t->unit_to - t->unit_from).answer ==
            UNIT_OK;
        if (percent && (!absolute || spec->dimension != DIM_RATIO)) {
            if (isnan(spec->relative) || !isnan(out->relative))
                return trouble(c, t->from, t->to, "unit-of-other-kind",
                               arena_printf(a, "`%s` is not wanted here", piece(c, t->from, t->to)),
                               criterion_wanted(c, spec));
            out->relative = t->value / 100.0;
            if (c->s[t->unit_from] == '1')
                out->relative = t->value;
            return true;
        }
        if (!absolute || spec->dimension == DIM_COUNT)
            return trouble(
                c, t->unit_from, t->unit_to, "unit-not-wanted",
                arena_printf(a, "`%s` is not wanted here", piece(c, t->unit_from, t->unit_to)),
                criterion_wanted(c, spec));
        if (!find_unit(c, spec->dimension, t, &u)) {
            c->trouble->expected = criterion_wanted(c, spec);
            return false;
        }
    } else if (!absolute || spec->dimension != DIM_COUNT) {
        return trouble(c, t->from, t->to, "unit-missing",
                       arena_printf(a, "`%s` has no unit", piece(c, t->from, t->to)),
                       criterion_wanted(c, spec));
    }
    if (!isnan(out->low))
        return trouble(c, t->from, t->to, "two-units", "two absolute parts in one criterion",
                       criterion_wanted(c, spec));
    out->low = out->high = canonical(u, t->value);
    return true;
}

/* Words behind the numbers are read over when they are those of the default's wording ("of the
 * plateau weight", "the larger"), so that a default can be copied and its number changed. */
static bool is_wording(const struct scan *c, size_t at, const struct criterion_spec *spec)
{
    const char *s = c->s + at;
    s += strspn(s, ", ");
    size_t n = strlen(s);
    if (n == 0 || spec->wording == NULL)
        return n == 0;
    for (const char *w = spec->wording; *w != '\0'; w++)
        if (strncmp(w, s, n) == 0)
            return true;
    return false;
}

/* Cuts the words off the term's unit ("% of the plateau weight" -> "%"). */
static void cut_wording(struct scan *c, struct term *t, const struct criterion_spec *spec)
{
    for (size_t i = t->unit_from; i < t->unit_to; i++)
        if (c->s[i] == ' ' && is_wording(c, i, spec)) {
            t->unit_to = t->to = i;
            c->at = c->n;
            return;
        }
}

bool ini_read_criterion(const struct ini_ask *ask, const struct criterion_spec *spec,
                        struct ini_value *out, struct ini_trouble *t)
{
    struct scan c;
    begin(&c, ask, out, t);
    out->found = spec->dimension;
    bool more = true;
    while (more) {
        if (!read_term(&c))
            return false;
        struct term *term = &c.terms[c.n_terms - 1];
        cut_wording(&c, term, spec);
        if (!criterion_term(&c, spec, term, out))
            return false;
        skip_blanks(&c);
        more = accept(&c, "or ");
    }
    if (c.s[c.at] == ',' && is_wording(&c, c.at, spec))
        c.at = c.n;
    out->note = c.note;
    if (!must_end(&c))
        return false;
    /* a share is at most the whole; only a criterion on scatter could exceed it, and none does */
    bool ratio = spec->dimension == DIM_RATIO;
    if (out->low < 0.0 || out->relative < 0.0 || out->relative > 1.0 || (ratio && out->low > 1.0))
        return trouble(&c, 0, c.n, "out-of-range",
                       arena_printf(ask->arena, "`%s` cannot be meant", out->text),
                       "a value that is not negative, and at most 100 %");
    return true;
}
