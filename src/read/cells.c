/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One cell -> a typed value in canonical units, or a message. */
#include <stdlib.h>
#include <string.h>

#include "cell_refusal.h"
#include "decimal.h"
#include "reading.h"
#include "units.h"

/* One cell being read. */
struct reading_cell {
    struct reading *r;
    size_t record, k;
    struct column *column;
    const char *text;
    bool excluded;
};

static const char *expected(const struct reading_cell *c)
{
    const struct column_spec *spec = c->column->want->spec;
    const char *mark = c->r->mark == MARK_COMMA ? "comma" : "point";
    if (c->column->unit == NULL)
        return arena_printf(c->r->arena, "a number with decimal %s", mark);
    return arena_printf(c->r->arena, "a %s in %s with decimal %s", dimension_name(spec->dimension),
                        c->column->unit->spelling, mark);
}

/* Refuses the cell; in a row that the user left out nothing is an error. */
static struct cell refuse(const struct reading_cell *c, const char *code, const char *message,
                          const char *wanted, const char *remedy)
{
    struct cell out = {.kind = CELL_MISSING, .text = c->text};
    if (c->excluded) {
        note_cell(c->r, "unreadable-in-excluded-row", c->record, c->k,
                  "a cell that cannot be read stands in a row that is left out");
        out.repaired = true;
        return out;
    }
    struct complaint x = {DIAG_ERROR, code, c->column->want->spec->name, message, wanted, remedy};
    complain_cell(c->r, &x, c->record, c->k);
    c->r->refused++;
    return out;
}

/* `1O.51`, `l0.5`: letters that look like digits among digits. */
static bool has_letters_for_digits(const char *s)
{
    size_t letters = strcspn(s, "OolI");
    return s[letters] != '\0' && strpbrk(s, "0123456789") != NULL &&
           s[strspn(s, "0123456789.,+-OolI")] == '\0';
}

static struct cell refuse_letters(const struct reading_cell *c)
{
    return refuse(c, "not-a-number",
                  arena_printf(c->r->arena, "%s in %s has a letter among its digits",
                               quoted(c->r, c->text), c->column->want->spec->name),
                  expected(c), "Type 0 where the letter O stands, and 1 where l or I stands.");
}

static struct cell refuse_number(const struct reading_cell *c, enum number_answer a,
                                 const struct number *x)
{
    struct reading *r = c->r;
    const char *name = c->column->want->spec->name;
    if (a == NUMBER_OTHER_MARK) {
        if (r->decimal == TABLE_DECIMAL_MIXED) { /* told already */
            r->refused++;
            return (struct cell){.kind = CELL_MISSING, .text = c->text};
        }
        return refuse(c, "other-decimal-mark",
                      arena_printf(r->arena, "%s in %s is a number with a decimal %s",
                                   quoted(r, c->text), name,
                                   r->mark == MARK_COMMA ? "point" : "comma"),
                      expected(c),
                      r->mark_said == NULL
                          ? "Write all numbers of the file with one decimal mark."
                          : arena_printf(r->arena,
                                         "Correct the cell, or say decimal = %s %s if all "
                                         "numbers of the file are written so.",
                                         r->mark == MARK_COMMA ? "point" : "comma", r->mark_said));
    }
    if ((a == NUMBER_NOT || a == NUMBER_GROUPS) && has_letters_for_digits(c->text))
        return refuse_letters(c);
    struct cell_refusal f = cell_refusal(r->arena, a, c->text, x->value);
    if (a == NUMBER_CLOCK && c->column->unit != NULL)
        f.remedy = arena_printf(r->arena,
                                "Write a plain number in %s, the unit of the column, and "
                                "no colon.",
                                c->column->unit->spelling);
    return refuse(c, f.code,
                  arena_printf(r->arena, "%s in %s %s%s", quoted(r, c->text), name, f.what, f.more),
                  expected(c), f.remedy);
}

static struct cell missing(const struct reading_cell *c, const char *code, const char *text)
{
    note_cell(c->r, code, c->record, c->k, text);
    return (struct cell){.kind = CELL_MISSING, .text = c->text, .repaired = true};
}

/* ---- the unit behind the number ------------------------------------------------------------- */

/* `4\xC2\xB7203`, `4_203`: a sign that is no decimal mark, and a digit behind it. */
static bool is_odd_mark(const char *rest)
{
    unsigned cp = 0;
    size_t n = utf8_next(rest, strlen(rest), &cp);
    bool letter = (cp >= 'A' && cp <= 'Z') || (cp >= 'a' && cp <= 'z');
    return n > 0 && !letter && rest[n] >= '0' && rest[n] <= '9';
}

static struct cell refuse_rest(const struct reading_cell *c, const struct number *x,
                               const struct unit_result *u)
{
    struct reading *r = c->r;
    const char *rest = arena_copy_n(r->arena, x->rest, x->rest_length);
    const struct column_spec *spec = c->column->want->spec;
    if (u != NULL && u->answer == UNIT_ASK)
        return refuse(c, "unit-has-two-readings",
                      arena_printf(r->arena, "the unit %s in %s has two readings: %s",
                                   quoted(r, rest), spec->name, u->question),
                      expected(c), "Write the unit so that it has one reading.");
    if (u != NULL && u->unit != NULL)
        return refuse(c, "unit-of-other-kind",
                      arena_printf(r->arena, "%s in %s: %s is a unit of %s", quoted(r, c->text),
                                   spec->name, quoted(r, rest), dimension_name(u->unit->dimension)),
                      expected(c), "Correct the unit, or the cell.");
    if (has_letters_for_digits(c->text))
        return refuse_letters(c);
    if (is_odd_mark(rest)) {
        struct cell_refusal f = cell_refusal(r->arena, NUMBER_GROUPS, c->text, PL_NAN);
        return refuse(c, f.code,
                      arena_printf(r->arena, "%s in %s %s", quoted(r, c->text), spec->name, f.what),
                      expected(c), f.remedy);
    }
    return refuse(c, "text-behind-number",
                  arena_printf(r->arena, "%s in %s: %s behind the number is no unit",
                               quoted(r, c->text), spec->name, quoted(r, rest)),
                  expected(c), "Write the number alone, and the remark in the `note` column.");
}

/* What makes a canonical value of the number; NULL after a refusal, which is in *out. */
static const struct unit *unit_of(const struct reading_cell *c, const struct number *x,
                                  struct cell *out)
{
    static const struct unit plain = {"", DIM_COUNT, 1.0, 0.0};
    struct column *col = c->column;
    enum dimension d = col->want->spec->dimension;
    if (x->rest_length == 0)
        return d == DIM_COUNT ? &plain : col->use;
    if (d == DIM_COUNT) {
        *out = refuse_rest(c, x, NULL);
        return NULL;
    }
    struct unit_result u = unit_find_for(d, x->rest, x->rest_length);
    if (u.unit == NULL || !column_takes_unit(d, u.unit)) {
        *out = refuse_rest(c, x, &u);
        return NULL;
    }
    if (unit_is_respelled(x->rest, x->rest_length))
        note_cell(c->r, "unit-sign-mended", c->record, c->k,
                  "a sign that looks like one of a unit, or was garbled, was read as that sign");
    if (col->unit != NULL && strcmp(col->unit->spelling, u.unit->spelling) == 0) {
        note_cell(c->r, "unit-in-cell", c->record, c->k, "a unit behind the number was read");
        return col->use;
    }
    if (col->cell_unit != u.unit) {
        col->cell_unit = u.unit;
        col->cell_use = column_unit_use(c->r, c->k, u.unit, c->record);
    }
    note_cell(
        c->r, "unit-converted", c->record, c->k,
        arena_printf(c->r->arena, "%s was converted to the unit of the column", u.unit->spelling));
    return col->cell_use;
}

/* ---- plausibility --------------------------------------------------------------------------- */

static const char *shown(const struct reading_cell *c, const struct unit *use, double v)
{
    struct arena *a = c->r->arena;
    const char *unit = use->spelling[0] != '\0' ? arena_printf(a, " %s", use->spelling) : "";
    double entered = unit_from_canonical(use, v);
    bool plain = fabs(entered) >= 1e-3 || !(fabs(entered) > 0.0);
    return arena_printf(a, plain ? "%.8g%s" : "%.3g%s", entered, unit);
}

/* "0 s to 3600 s", "more than 0 g, at most 1000000 g". */
static const char *range_text(const struct reading_cell *c, const struct unit *use)
{
    const struct column_spec *spec = c->column->want->spec;
    struct arena *a = c->r->arena;
    const char *low = shown(c, use, spec->low), *high = shown(c, use, spec->high);
    bool tiny = spec->low > 0.0 && spec->low <= 1e-9 * fabs(spec->high);
    if (isinf(spec->high))
        return arena_printf(a, "at least %s", low);
    if (isinf(spec->low))
        return arena_printf(a, "at most %s", high);
    if (tiny && use->offset == 0.0)
        return arena_printf(a, "more than %s, at most %s", shown(c, use, 0.0), high);
    return arena_printf(a, "%s to %s", low, high);
}

/* The press's own limit as melt pressure, or infinity. */
static double press_limit(const struct reading *r)
{
    double limit = facts_number(r->facts, "press", "max_injection_pressure", PL_INF);
    const char *basis = facts_text(r->facts, "press", "pressure_basis");
    if (basis == NULL)
        return PL_INF;
    if (text_same_word(basis, "hydraulic"))
        limit *= facts_number(r->facts, "press", "intensification_ratio", PL_INF);
    return limit;
}

#define BEYOND_PRESS 1.1 /* a gauge and a data sheet may differ by so much */
#define PSI_PER_BAR 14.503773773
#define WORTH_RUNNING 0.2 /* of what the press can make: less is no reading of filling */

/* psi under bar makes pressures 14.5 times too large: said where the press's limit tells it. */
static const char *psi_under_bar(const struct reading_cell *c, const struct unit *use, double v)
{
    double limit = press_limit(c->r), then = v / PSI_PER_BAR;
    bool pressure = (c->column->want->spec->flags & COLUMN_BASIS) != 0;
    bool bar = pressure && strncmp(use->spelling, "bar", 3) == 0; /* hydraulic or melt */
    if (!bar || !isfinite(limit) || !(then >= WORTH_RUNNING * limit && then <= limit))
        return "";
    return arena_printf(c->r->arena,
                        " In psi it would be %s %s, which the press can make: the readings seem "
                        "to be in psi under bar.",
                        number_text(c->r->arena, unit_from_canonical(use, then), 4), use->spelling);
}

static bool is_implausible(const struct reading_cell *c, const struct unit *use, double v,
                           struct cell *out)
{
    const struct column_spec *spec = c->column->want->spec;
    struct reading *r = c->r;
    if (!decimal_is_settled(r))
        return false; /* told already; the value may be off by a thousand */
    if (spec->low < spec->high && !(v >= spec->low && v <= spec->high)) {
        *out =
            refuse(c, "out-of-range",
                   arena_printf(r->arena, "%s = %s cannot be", spec->name, shown(c, use, v)),
                   range_text(c, use),
                   arena_printf(r->arena,
                                "Check the reading, its unit and its decimal mark. Where nothing "
                                "was measured, empty the cell, or leave the row out with a reason "
                                "in the column `exclude`.%s",
                                psi_under_bar(c, use, v)));
        return true;
    }
    if ((spec->flags & COLUMN_BASIS) && v > BEYOND_PRESS * press_limit(r)) {
        *out =
            refuse(c, "beyond-press-limit",
                   arena_printf(r->arena,
                                "%s = %s (melt pressure %s MPa) is more than the press can make, "
                                "%s MPa by [press] max_injection_pressure",
                                spec->name, shown(c, use, v), number_text(r->arena, v, 4),
                                number_text(r->arena, press_limit(r), 4)),
                   "at most 10 % more than the press's limit",
                   arena_printf(r->arena,
                                "Check whether the pressure is hydraulic or melt, its unit, and "
                                "trial.ini.%s",
                                psi_under_bar(c, use, v)));
        return true;
    }
    return false;
}

/* ---- the cell ------------------------------------------------------------------------------- */

static void note_repairs(const struct reading_cell *c, unsigned repairs)
{
    static const struct {
        unsigned bit;
        const char *code, *text;
    } notes[] = {
        {NUMBER_HAD_GROUPS, "thousands-marks", "marks between thousands were dropped"},
        {NUMBER_HAD_APOSTROPHE, "leading-apostrophe", "an apostrophe in front was dropped"},
        {NUMBER_HAD_DASH, "dash-as-minus", "a dash was read as a minus sign"},
        {NUMBER_HAD_INVISIBLE, "invisible-characters", "invisible characters were dropped"},
        {NUMBER_HAD_BARE_MARK, "bare-decimal-mark",
         "a number starts or ends with its decimal mark"},
    };
    for (size_t i = 0; i < PL_COUNT(notes); i++)
        if (repairs & notes[i].bit)
            note_cell(c->r, notes[i].code, c->record, c->k, notes[i].text);
}

/* Those beyond are made by a computer: 0.56000000000000005. */
#define SOUND_DIGITS 15

static int sound_decimals(const struct number *x)
{
    int before = x->value != 0.0 ? (int)floor(log10(fabs(x->value))) + 1 : 1;
    return x->decimals > SOUND_DIGITS - before ? SOUND_DIGITS - before : x->decimals;
}

static double step_of_decimals(int decimals)
{
    double power = 1.0; /* exact up to 1e22 */
    for (int i = 0; i < abs(decimals); i++)
        power *= 10.0;
    return decimals < 0 ? power : 1.0 / power;
}

/* The step of the last digit behind the mark that is not a zero. */
static int decimals_told(const struct number *x, int decimals)
{
    double power = 1.0, end = step_of_decimals(decimals);
    for (int d = 0; d < decimals; d++, power *= 10.0) {
        double digits = fabs(x->value) * power;
        if (fabs(digits - round(digits)) < 0.5 * end * power)
            return d;
    }
    return decimals;
}

static void lower_to(double *least, double v)
{
    if (*least == 0.0 || v < *least)
        *least = v;
}

static void take_digits(struct digits *d, const struct number *x, double factor)
{
    int decimals = sound_decimals(x);
    lower_to(&d->typed, step_of_decimals(decimals) * factor);
    lower_to(&d->told, step_of_decimals(decimals_told(x, decimals)) * factor);
    for (size_t i = 0; i < d->n_values; i++)
        if (x->value == d->value[i])
            return;
    if (d->n_values < PL_COUNT(d->value))
        d->value[d->n_values++] = x->value;
}

double digits_step(const struct digits *d)
{
    return d->n_values < PL_COUNT(d->value) ? d->typed : d->told;
}

static struct cell read_value(const struct reading_cell *c, enum number_answer a,
                              const struct number *x)
{
    struct column *col = c->column;
    struct cell out = {.kind = CELL_MISSING, .text = c->text};
    bool limit = a == NUMBER_BELOW || a == NUMBER_ABOVE;
    if (limit && !(col->want->spec->flags & COLUMN_CENSORED))
        return refuse(c, "limit-not-accepted",
                      arena_printf(c->r->arena, "%s in %s is a limit and not a reading",
                                   quoted(c->r, c->text), col->want->spec->name),
                      expected(c), "Write the reading itself, or leave the cell empty.");
    const struct unit *use = unit_of(c, x, &out);
    if (use == NULL)
        return out;
    double v = x->value * use->factor + use->offset;
    if (is_implausible(c, use, v, &out))
        return out;
    note_repairs(c, x->repairs);
    if (limit)
        note_cell(c->r, "limit-kept", c->record, c->k,
                  "readings beyond a limit (< or >) are kept as limits and left out of fits");
    take_digits(&col->digits, x, fabs(use->factor));
    out.kind = a == NUMBER_BELOW ? CELL_BELOW : a == NUMBER_ABOVE ? CELL_ABOVE : CELL_VALUE;
    out.value = v;
    return out;
}

static struct cell read_text(const struct reading_cell *c)
{
    if (strstr(c->text, "\xEF\xBF\xBD") != NULL)
        note_cell(c->r, "mixed-encodings", c->record, c->k,
                  "a byte that is no UTF-8 stands in a text; it is shown as a question mark");
    if (strncmp(c->text, "\xE2\x80\x9C", 3) == 0 || strncmp(c->text, "\xE2\x80\x9E", 3) == 0)
        note_cell(c->r, "typographic-quotes", c->record, c->k,
                  "curved quotes around a text were kept as letters of it");
    return (struct cell){.kind = c->text[0] == '\0' ? CELL_MISSING : CELL_TEXT, .text = c->text};
}

static struct cell read_number(const struct reading_cell *c)
{
    struct number x;
    if (strstr(c->text, "\xEF\xBF\xBD") != NULL)
        return refuse(
            c, "mixed-encodings",
            "a byte that is no UTF-8 stands in a number, in a file that otherwise is UTF-8",
            expected(c), "Type the cell again and save the file as UTF-8.");
    enum number_answer a = number_parse(c->text, strlen(c->text), c->r->mark, &x);
    if (a == NUMBER_MISSING && !(x.repairs & NUMBER_HAD_WORD))
        return (struct cell){.kind = CELL_MISSING, .text = c->text};
    if (a == NUMBER_MISSING)
        return missing(c, "missing-word", "words for a missing reading were read as empty cells");
    if (a == NUMBER_SHEET_ERROR &&
        !(c->column->want->spec->flags & (COLUMN_REQUIRED | COLUMN_SETTING)))
        return missing(c, "sheet-error", "errors of the spreadsheet were read as empty cells");
    if (a == NUMBER_SHEET_ERROR)
        return refuse(
            c, "sheet-error",
            arena_printf(c->r->arena, "%s in %s: the spreadsheet could not compute this cell",
                         quoted(c->r, c->text), c->column->want->spec->name),
            expected(c),
            "Mend the formula in the sheet and save again; where nothing was measured, empty "
            "the cell.");
    return a > NUMBER_MISSING ? refuse_number(c, a, &x) : read_value(c, a, &x);
}

/* A column without a unit, or with another error: what is no number in any unit is told too, so
 * that all of it can be mended in one go. */
static void check_only(const struct reading_cell *c)
{
    struct number x;
    enum number_answer a = number_parse(c->text, strlen(c->text), c->r->mark, &x);
    if (a > NUMBER_MISSING)
        read_number(c);
}

struct cell cell_read(struct reading *r, size_t record, size_t column, bool excluded)
{
    struct reading_cell c = {
        r, record, column, &r->columns[column], row_cell(r, record, column), excluded};
    bool text = c.column->want->spec->dimension == DIM_TEXT;
    struct cell out = {.kind = CELL_MISSING, .text = c.text};
    struct arena_mark before = arena_mark(r->arena);
    size_t refused = r->refused, told = r->told, repairs = r->source->n_repairs;
    const bool *repaired = r->rows[record].repaired;
    if (text)
        out = read_text(&c);
    else if (!c.column->hopeless)
        out = read_number(&c);
    else
        check_only(&c);
    if (r->refused > refused && r->told == told && r->source->n_repairs == repairs &&
        r->rows[record].repaired == repaired) /* only counted: its words are not needed */
        arena_reset(r->arena, before);
    const struct record *rec = &r->records.items[record];
    out.line = rec->line;
    if (rec->lines > 1)
        out.line = record_span(r->text.s, rec, r->separator, column).line;
    out.repaired = r->rows[record].repaired != NULL && r->rows[record].repaired[column];
    return out;
}

bool cell_is_number(const char *s)
{
    struct number x;
    size_t n = strlen(s);
    enum number_answer a = number_parse(s, n, MARK_POINT, &x);
    if (a == NUMBER_OTHER_MARK)
        a = number_parse(s, n, MARK_COMMA, &x);
    if (a > NUMBER_ABOVE)
        return false;
    return x.rest_length == 0 || unit_find(x.rest, x.rest_length, NULL) != NULL;
}
