/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The unit of each column: from its header, the units row, [units] or, where each cell has one and
 * all agree, the cells. A quantity without a unit is refused: nobody can tell minutes from seconds.
 */
#include <string.h>

#include "reading.h"
#include "units.h"

static bool has_unit(const struct column *c)
{
    return c->want != NULL && c->want->spec->dimension != DIM_TEXT &&
           c->want->spec->dimension != DIM_COUNT;
}

/* ---- the units row -------------------------------------------------------------------------- */

static bool looks_like_unit(const struct column *c, const char *s)
{
    enum unit_answer a = unit_find_for(c->want->spec->dimension, s, strlen(s)).answer;
    return a != UNIT_UNKNOWN;
}

/* The row behind the header, blanks and comments passed over, where no cell of a quantity is a
 * number and at least one is a unit. */
void columns_find_units_row(struct reading *r)
{
    r->units = NO_RECORD;
    r->body = r->header + (r->joined ? 2 : 1);
    for (size_t i = r->body; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (rec->fault != FAULT_NONE)
            return;
        if (record_is_empty(rec) || record_cell(rec, 0)[0] == '#')
            continue;
        bool unit = false;
        for (size_t k = 0; k < r->n_columns; k++) {
            const char *s = record_cell(rec, k);
            if (!has_unit(&r->columns[k]) || number_is_missing(s, strlen(s)))
                continue;
            if (cell_is_number(s))
                return;
            unit = unit || looks_like_unit(&r->columns[k], s);
        }
        if (unit) {
            r->units = i;
            r->source->units_line = rec->line;
        }
        return;
    }
}

const struct unit *column_unit_of_header(const struct reading *r, size_t k)
{
    const char *s = r->columns[k].head.shown;
    size_t n = strlen(s);
    const char *open = n > 0 && s[n - 1] == ']'   ? strrchr(s, '[')
                       : n > 0 && s[n - 1] == ')' ? strrchr(s, '(')
                                                  : NULL;
    const struct unit *u =
        open != NULL ? unit_find(open + 1, n - (size_t)(open + 1 - s) - 1, NULL) : NULL;
    if (u == NULL && r->units != NO_RECORD) {
        s = record_cell(&r->records.items[r->units], k);
        u = unit_find(s, strlen(s), NULL);
    }
    return u;
}

/* ---- one unit ------------------------------------------------------------------------------- */

/* `record` NO_RECORD: the unit stands in trial.ini. */
static void complain_unit(struct reading *r, size_t k, size_t record, const struct complaint *c)
{
    r->columns[k].hopeless = true;
    if (record == NO_RECORD)
        complain_file(r, c);
    else
        complain_cell(r, c, record, k);
}

bool column_takes_unit(enum dimension asked, const struct unit *u)
{
    return u->dimension == asked ||
           (asked == DIM_SPEED &&
            (u->dimension == DIM_VOLUME_RATE || (u->dimension == DIM_RATIO && u->factor != 1.0)));
}

/* Judges the unit spelled `s`; NULL after an error. */
static const struct unit *judge_unit(struct reading *r, size_t k, size_t record, const char *s)
{
    const struct column_spec *spec = r->columns[k].want->spec;
    struct unit_result u = unit_find_for(spec->dimension, s, strlen(s));
    if (u.unit != NULL && column_takes_unit(spec->dimension, u.unit))
        return u.unit;
    const char *accepted =
        arena_printf(r->arena, "a %s, in one of: %s", dimension_name(spec->dimension),
                     unit_accepted(spec->dimension));
    struct complaint c = {.severity = DIAG_ERROR, .column = spec->name, .expected = accepted};
    if (u.answer == UNIT_ASK) {
        c.code = "unit-has-two-readings";
        c.message = arena_printf(r->arena, "the unit %s of %s has two readings: %s", quoted(r, s),
                                 spec->name, u.question);
        c.remedy = "Write the unit so that it has one reading.";
    } else if (u.unit != NULL) {
        c.code = "unit-of-other-kind";
        c.message = arena_printf(r->arena, "%s is a unit of %s, but %s is a %s", quoted(r, s),
                                 dimension_name(u.unit->dimension), spec->name,
                                 dimension_name(spec->dimension));
        c.remedy = "Correct the unit, or the name of the column.";
    } else {
        c.code = "unit-not-known";
        c.message = arena_printf(r->arena, "%s, given as the unit of %s, is no unit known here",
                                 quoted(r, s), spec->name);
        c.remedy = "Write one of the units listed.";
        if (spec->dimension == DIM_TEMPERATURE && strchr("CF", s[strlen(s) - 1]) != NULL)
            c.remedy =
                arena_printf(r->arena, "If a degree sign stood there that was lost, write deg%c.",
                             s[strlen(s) - 1]);
    }
    complain_unit(r, k, record, &c);
    return NULL;
}

static void set_unit(struct reading *r, size_t k, size_t record, const char *s, const char *from)
{
    struct column *c = &r->columns[k];
    const struct unit *u = judge_unit(r, k, record, s);
    if (u == NULL)
        return;
    if (unit_is_respelled(s, strlen(s)))
        note_repair(
            r, "unit-sign-mended", c->want->spec->name,
            record != NO_RECORD ? r->records.items[record].line : 0,
            arena_printf(r->arena, "the unit %s was read as %s", quoted(r, s), u->spelling));
    if (c->unit != NULL && strcmp(c->unit->spelling, u->spelling) != 0) {
        struct complaint x = {DIAG_ERROR,
                              "units-disagree",
                              c->want->spec->name,
                              arena_printf(r->arena, "%s is in %s by %s and in %s by %s",
                                           c->want->spec->name, c->unit->spelling, c->unit_from,
                                           u->spelling, from),
                              "one unit for a column",
                              "Correct or delete one of the two."};
        complain_unit(r, k, record, &x);
        return;
    }
    c->unit = u;
    c->unit_from = c->unit_from != NULL ? c->unit_from : from;
}

/* ---- units in the cells --------------------------------------------------------------------- */

/* The text behind the number of a cell; length 0: none, or no number. */
static size_t unit_behind(const char *s, const char **unit)
{
    struct number x;
    size_t n = strlen(s);
    enum number_answer a = number_parse(s, n, MARK_POINT, &x);
    if (a == NUMBER_OTHER_MARK)
        a = number_parse(s, n, MARK_COMMA, &x);
    *unit = x.rest;
    return a <= NUMBER_ABOVE ? x.rest_length : 0;
}

static void look_at_cells(struct reading *r, size_t k)
{
    struct column *c = &r->columns[k];
    const struct unit *first = NULL;
    size_t first_record = NO_RECORD, without = NO_RECORD;
    bool differ = false;
    for (size_t i = r->body; i < r->records.n; i++) {
        const char *s = row_cell(r, i, k), *text;
        if (r->rows[i].kind != ROW_DATA || number_is_missing(s, strlen(s)))
            continue;
        c->has_values = true;
        if (c->unit != NULL)
            return;
        size_t n = unit_behind(s, &text);
        if (n == 0) {
            without = without == NO_RECORD && cell_is_number(s) ? i : without;
            continue;
        }
        const struct unit *u = unit_find_for(c->want->spec->dimension, text, n).unit;
        if (u == NULL || !column_takes_unit(c->want->spec->dimension, u))
            continue; /* told when the cell is read */
        differ = differ || (first != NULL && strcmp(first->spelling, u->spelling) != 0);
        if (first == NULL) {
            first = u;
            first_record = i;
        }
    }
    if (first == NULL)
        return;
    if (without != NO_RECORD) {
        struct complaint x = {
            DIAG_ERROR,
            "unit-in-some-cells",
            c->want->spec->name,
            arena_printf(r->arena,
                         "some cells of %s have a unit (%s on line %ld) and this has none",
                         c->want->spec->name, first->spelling, r->records.items[first_record].line),
            "a unit in the header, or one in every cell",
            arena_printf(
                r->arena,
                "Write the unit of the numbers that have none into the header, `%s [...]`; "
                "or write a unit behind every number.",
                c->want->spec->name)};
        complain_unit(r, k, without, &x);
        return;
    }
    c->unit = first;
    c->unit_from = "the cells";
    note_repair(r, "unit-from-cells", c->want->spec->name, r->records.items[first_record].line,
                differ ? "the header has no unit; every cell has one, and they differ"
                       : "the header has no unit; the one in the cells was taken");
}

static const char *where_to_write_unit(struct reading *r, size_t k, const char *example)
{
    const struct column *c = &r->columns[k];
    const char *name = shortened(r, c->head.shown);
    const char *in_sheet =
        r->units != NO_RECORD
            ? arena_printf(r->arena, "units row, line %ld, below `%s`, as in `%s`",
                           r->records.items[r->units].line, name, example)
            : arena_printf(r->arena, "header, as in `%s [%s]`", name, example);
    return arena_printf(
        r->arena,
        "Write the unit of the readings into the %s, or under [units] in trial.ini, as in "
        "%s.%s = %s%s",
        in_sheet, r->study->name, c->want->spec->name, example,
        c->want->spec->dimension == DIM_RATIO ? " (1 in place of % where 0.95 is typed for 95 %)"
                                              : "");
}

static void refuse_without_unit(struct reading *r, size_t k)
{
    struct column *c = &r->columns[k];
    const struct column_spec *spec = c->want->spec;
    const char *example = dimension_unit(spec->dimension);
    if (spec->dimension == DIM_RATIO)
        example = "%";
    struct complaint x = {DIAG_ERROR,
                          "column-without-unit",
                          spec->name,
                          arena_printf(r->arena, "%s has no unit", spec->name),
                          arena_printf(r->arena, "a %s, in one of: %s",
                                       dimension_name(spec->dimension),
                                       unit_accepted(spec->dimension)),
                          where_to_write_unit(r, k, example)};
    complain_unit(r, k, r->joined ? r->header + 1 : r->header, &x);
}

/* ---- canonical ------------------------------------------------------------------------------ */

static const struct unit *scaled(struct reading *r, const struct unit *u, enum dimension d,
                                 double factor, const char *spelling)
{
    struct unit *out = ARENA_NEW(r->arena, struct unit);
    *out = (struct unit){spelling, d, u->factor * factor, u->offset * factor};
    return out;
}

static const struct unit *need_fact(struct reading *r, size_t k, size_t record, const char *code,
                                    const char *message, const char *remedy)
{
    struct complaint x = {DIAG_ERROR, code, r->columns[k].want->spec->name, message, NULL, remedy};
    if (r->columns[k].want->spec->flags & COLUMN_INFORMS) {
        x.severity = DIAG_WARNING;
        x.message = arena_printf(r->arena, "%s; the column is not used", message);
        r->columns[k].hopeless = true;
    }
    complain_unit(r, k, record, &x);
    return NULL;
}

static const struct unit *speed_use(struct reading *r, size_t k, size_t record,
                                    const struct unit *u)
{
    if (u->dimension == DIM_VOLUME_RATE) {
        double d = facts_number(r->facts, "press", "screw_diameter", PL_NAN);
        if (!(d > 0.0))
            return need_fact(
                r, k, record, "speed-needs-press",
                arena_printf(r->arena, "a speed in %s needs the screw's diameter", u->spelling),
                "Give it in trial.ini: [press] screw_diameter = 35 mm");
        return scaled(r, u, DIM_SPEED, 4.0 / (acos(-1.0) * d * d), u->spelling);
    }
    double most = facts_number(r->facts, "press", "max_injection_speed", PL_NAN);
    if (!(most > 0.0))
        return need_fact(r, k, record, "speed-needs-press",
                         "a speed in % needs the press's highest injection speed",
                         "Give it in trial.ini: [press] max_injection_speed = 200 mm/s");
    return scaled(r, u, DIM_SPEED, most, u->spelling);
}

static const struct unit *pressure_use(struct reading *r, size_t k, size_t record,
                                       const struct unit *u)
{
    const struct column *c = &r->columns[k];
    const char *said = facts_text(r->facts, "press", "pressure_basis");
    enum basis basis = c->head.basis;
    if (basis == BASIS_NOT_SAID && said != NULL)
        basis = text_same_word(said, "hydraulic") ? BASIS_HYDRAULIC : BASIS_MELT;
    if (basis == BASIS_MELT)
        return u;
    if (basis == BASIS_NOT_SAID)
        return need_fact(
            r, k, record, "pressure-basis-missing",
            arena_printf(
                r->arena,
                "%s: hydraulic pressure or melt pressure? They differ by a factor of about "
                "ten",
                c->want->spec->name),
            arena_printf(r->arena,
                         "Say it in the header, `%s hydraulic [%s]` or `%s melt [%s]`, or for all "
                         "files in trial.ini: [press] pressure_basis = melt, or = hydraulic with "
                         "intensification_ratio",
                         c->want->spec->name, u->spelling, c->want->spec->name, u->spelling));
    double ratio = facts_number(r->facts, "press", "intensification_ratio", PL_NAN);
    if (!(ratio > 0.0))
        return need_fact(
            r, k, record, "intensification-missing",
            arena_printf(r->arena,
                         "%s is hydraulic pressure; melt pressure needs the ratio of the "
                         "press",
                         c->want->spec->name),
            "Give it in trial.ini, from the press maker's data: [press] "
            "intensification_ratio = 10.5");
    return scaled(r, u, DIM_PRESSURE, ratio, arena_printf(r->arena, "%s (hydraulic)", u->spelling));
}

const struct unit *column_unit_use(struct reading *r, size_t k, const struct unit *u, size_t record)
{
    const struct column_spec *spec = r->columns[k].want->spec;
    if (record == NO_RECORD)
        record = r->joined ? r->header + 1 : r->header;
    if (spec->dimension == DIM_SPEED && u->dimension != DIM_SPEED)
        return speed_use(r, k, record, u);
    if (spec->flags & COLUMN_BASIS)
        return pressure_use(r, k, record, u);
    return u;
}

/* ---- all columns ---------------------------------------------------------------------------- */

static void settle(struct reading *r, size_t k)
{
    struct column *c = &r->columns[k];
    const struct column_spec *spec = c->want->spec;
    if (c->head.unit_text[0] != '\0')
        set_unit(r, k, r->joined ? r->header + 1 : r->header, c->head.unit_text, "its header");
    if (r->units != NO_RECORD && !c->hopeless) {
        const char *s = record_cell(&r->records.items[r->units], k);
        if (!number_is_missing(s, strlen(s)))
            set_unit(r, k, r->units, s, "the units row");
    }
    const char *said =
        facts_text(r->facts, "units", arena_printf(r->arena, "%s.%s", r->study->name, spec->name));
    if (said != NULL && !c->hopeless)
        set_unit(r, k, NO_RECORD, said, "[units] in trial.ini");
    if (c->hopeless)
        return;
    look_at_cells(r, k);
    if (c->hopeless || !c->has_values)
        return;
    if (c->unit == NULL)
        refuse_without_unit(r, k);
    else
        c->use = column_unit_use(r, k, c->unit, NO_RECORD);
}

void columns_settle_units(struct reading *r)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        struct column *c = &r->columns[k];
        if (has_unit(c) && !c->hopeless)
            settle(r, k);
        else if (c->want != NULL && c->want->spec->dimension == DIM_COUNT &&
                 c->head.unit_text[0] != '\0' && c->head.unit != NULL) {
            struct complaint x = {
                DIAG_ERROR,
                "unit-not-wanted",
                c->want->spec->name,
                arena_printf(r->arena, "%s is a plain number and has no unit", c->want->spec->name),
                "no unit",
                "Take the unit out, or correct the name of the column."};
            complain_unit(r, k, r->joined ? r->header + 1 : r->header, &x);
        }
    }
}
