/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A record back into findings, window and premises. A record comes from anywhere: every type is
 * checked, every complaint says where. Keys that are not known are passed over. */
#include <limits.h>
#include <math.h>
#include <string.h>

#include "report/layout.h"
#include "report/reader.h"

/* ---- premises -------------------------------------------------------------------------------- */

static enum errc more_repair(struct reader *r, json_t *o, void *item)
{
    struct premises_repair *p = item;
    json_t *lines = NULL;
    TRY(reader_elements(r, o, "lines", &lines));
    reader_enter_key(r, "lines");
    if (json_array_size(lines) > PL_COUNT(p->lines))
        return reader_complain(r, "at most three lines are expected");
    for (size_t i = 0; i < json_array_size(lines); i++) {
        long long line = 0;
        reader_enter_index(r, i);
        TRY(reader_integer(r, json_array_get(lines, i), 0, LONG_MAX, &line));
        p->lines[i] = (long)line;
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

static enum errc more_file(struct reader *r, json_t *o, void *item)
{
    struct premises_file *f = item;
    if (f->study == NULL)
        f->study = "";
    TRY(reader_array(r, o, "repairs", &fields_repair, &f->repairs, &f->n_repairs, more_repair));
    TRY(reader_array(r, o, "excluded", &fields_left_out, &f->excluded, &f->n_excluded, NULL));
    TRY(reader_texts(r, o, "preamble", &f->preamble, &f->n_preamble));
    return reader_texts(r, o, "unused", &f->unused, &f->n_unused);
}

static enum errc more_fact(struct reader *r, json_t *o, void *item)
{
    (void)r;
    (void)o;
    struct fact *f = item;
    if (f->kind == FACT_TEXT)
        f->dimension = DIM_TEXT;
    return ERR_NONE;
}

static enum errc read_facts(struct reader *r, json_t *root, struct premises *p)
{
    struct facts *facts = ARENA_NEW(r->arena, struct facts);
    TRY(reader_array(r, root, "facts", &fields_fact, &facts->items, &facts->n, more_fact));
    facts->capacity = facts->n;
    reader_enter_key(r, "facts_file");
    TRY(reader_text(r, reader_member(root, "facts_file"), &facts->file));
    reader_leave(r);
    json_t *trial = NULL;
    TRY(reader_object(r, root, "trial", &trial));
    reader_enter_key(r, "trial");
    void *at = json_object_iter(trial);
    for (; at != NULL; at = json_object_iter_next(trial, at)) {
        struct fact f = {
            .section = "trial", .low = NAN, .high = NAN, .relative = NAN, .given = true};
        f.key = arena_copy(r->arena, json_object_iter_key(at));
        reader_enter_key(r, f.key);
        TRY(reader_text(r, json_object_iter_value(at), &f.text));
        reader_leave(r);
        *ARENA_PUSH(r->arena, facts->items, facts->n, facts->capacity) = f;
    }
    reader_leave(r);
    p->facts = facts;
    return ERR_NONE;
}

static enum errc read_display(struct reader *r, json_t *root, struct premises *p)
{
    json_t *display = NULL;
    TRY(reader_object(r, root, "display", &display));
    reader_enter_key(r, "display");
    for (int d = 0; d < DIM_N; d++) {
        const char *key = dimension_name((enum dimension)d);
        struct display_unit *u = &p->display[d];
        *u = (struct display_unit){dimension_unit((enum dimension)d), 1.0, 0.0};
        json_t *o = NULL;
        TRY(reader_object(r, display, key, &o));
        if (o == NULL)
            continue;
        reader_enter_key(r, key);
        const char *unit = NULL;
        TRY(reader_text(r, reader_member(o, "unit"), &unit));
        TRY(reader_number(r, o, "factor", &u->factor));
        TRY(reader_number(r, o, "offset", &u->offset));
        if (unit == NULL || !isfinite(u->factor) || !(u->factor > 0.0) || !isfinite(u->offset))
            return reader_complain(r, "a unit with a positive factor and an offset is expected");
        u->name = unit;
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

static enum errc read_premises(struct reader *r, json_t *root, struct premises *p)
{
    json_t *options = json_object_get(root, "options");
    long long seed = 0;
    reader_enter_key(r, "options");
    TRY(reader_item(r, options, &fields_options, p));
    reader_enter_key(r, "seed");
    TRY(reader_integer(r, reader_member(options, "seed"), 0, LLONG_MAX, &seed));
    p->seed = (unsigned long)seed;
    reader_leave(r);
    reader_enter_key(r, "single_file");
    TRY(reader_bool(r, reader_member(options, "single_file"), &p->single_file));
    reader_leave(r);
    reader_leave(r);
    TRY(read_facts(r, root, p));
    TRY(read_display(r, root, p));
    TRY(reader_array(r, root, "inputs", &fields_file, &p->files, &p->n_files, more_file));
    TRY(reader_texts(r, root, "unread", &p->unread, &p->n_unread));
    return reader_texts(r, root, "cautions", &p->cautions, &p->n_cautions);
}

/* ---- studies --------------------------------------------------------------------------------- */

static enum errc more_model(struct reader *r, json_t *o, void *item)
{
    struct model *m = item;
    json_t *parameters = NULL, *covariance = NULL;
    TRY(reader_object(r, o, "parameters", &parameters));
    TRY(reader_object(r, o, "covariance", &covariance));
    reader_enter_key(r, "parameters");
    if (json_object_size(parameters) > MODEL_PARAMETERS_MAX)
        return reader_complain(r, "more parameters than this program knows of");
    void *at = json_object_iter(parameters);
    for (; at != NULL; at = json_object_iter_next(parameters, at)) {
        size_t i = m->n_parameters++;
        m->parameter[i] = arena_copy(r->arena, json_object_iter_key(at));
        reader_enter_key(r, m->parameter[i]);
        TRY(reader_number(r, parameters, m->parameter[i], &m->value[i]));
        reader_leave(r);
    }
    reader_leave(r);
    reader_enter_key(r, "covariance");
    for (size_t i = 0; i < m->n_parameters; i++) {
        json_t *row = NULL;
        TRY(reader_object(r, covariance, m->parameter[i], &row));
        reader_enter_key(r, m->parameter[i]);
        for (size_t j = 0; j < m->n_parameters; j++) {
            reader_enter_key(r, m->parameter[j]);
            TRY(reader_number(r, row, m->parameter[j], &m->covariance[i][j]));
            reader_leave(r);
        }
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

static enum errc read_cell(struct reader *r, json_t *v, const struct data_column *c, double *value,
                           const char **text)
{
    *value = NAN;
    *text = NULL;
    if (c->is_text)
        return reader_text(r, v, text);
    if (json_is_null(v))
        return ERR_NONE;
    if (!json_is_number(v))
        return reader_complain(r, "a number or null is expected");
    *value = json_number_value(v);
    return ERR_NONE;
}

static enum errc more_table(struct reader *r, json_t *o, void *item)
{
    struct data_table *t = item;
    json_t *rows = NULL;
    TRY(reader_array(r, o, "columns", &fields_column, &t->columns, &t->n_columns, NULL));
    TRY(reader_elements(r, o, "rows", &rows));
    t->n_rows = json_array_size(rows);
    reader_enter_key(r, "rows");
    /* every row is as wide as the head, so the size below is bounded by that of the file */
    for (size_t i = 0; i < t->n_rows; i++)
        if (!json_is_array(json_array_get(rows, i)) ||
            json_array_size(json_array_get(rows, i)) != t->n_columns) {
            reader_enter_index(r, i);
            return reader_complain(r, "an array with one value per column is expected");
        }
    t->values = ARENA_ARRAY(r->arena, double, t->n_rows * t->n_columns);
    t->texts = ARENA_ARRAY(r->arena, const char *, t->n_rows * t->n_columns);
    for (size_t i = 0; i < t->n_rows; i++) {
        reader_enter_index(r, i);
        for (size_t c = 0; c < t->n_columns; c++) {
            size_t at = i * t->n_columns + c;
            reader_enter_index(r, c);
            TRY(read_cell(r, json_array_get(json_array_get(rows, i), c), &t->columns[c],
                          &t->values[at], &t->texts[at]));
            reader_leave(r);
        }
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

static enum errc read_operating_point(struct reader *r, json_t *o, struct finding *f)
{
    json_t *point = NULL;
    TRY(reader_object(r, o, "operating_point", &point));
    reader_enter_key(r, "operating_point");
    void *at = json_object_iter(point);
    for (; at != NULL; at = json_object_iter_next(point, at)) {
        struct operating_value *v =
            finding_operating(f, arena_copy(r->arena, json_object_iter_key(at)), DIM_COUNT);
        reader_enter_key(r, v->setting);
        TRY(reader_item(r, json_object_iter_value(at), &fields_operating, v));
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

/* `what` of the finding, whose capacity is its number then. */
#define GET(what, table, more)                                                                     \
    do {                                                                                           \
        TRY(reader_array(r, o, #what, &fields_##table, &f->what, &f->n_##what, (more)));           \
        f->cap_##what = f->n_##what;                                                               \
    } while (0)

static enum errc more_other_answer(struct reader *r, json_t *o, void *item)
{
    struct other_answer *x = item;
    TRY(reader_array(r, o, "quantities", &fields_quantity, &x->quantities, &x->n_quantities, NULL));
    TRY(reader_array(r, o, "criteria", &fields_criterion, &x->criteria, &x->n_criteria, NULL));
    return reader_array(r, o, "bounds", &fields_bound, &x->bounds, &x->n_bounds, NULL);
}

static enum errc more_finding(struct reader *r, json_t *o, void *item)
{
    struct finding *f = item;
    f->arena = r->arena;
    if (f->title == NULL)
        f->title = f->study;
    TRY(reader_texts(r, o, "files", &f->files, &f->n_files));
    TRY(read_operating_point(r, o, f));
    GET(quantities, quantity, NULL);
    GET(criteria, criterion, NULL);
    GET(conditions, condition, NULL);
    GET(models, model, more_model);
    GET(bounds, bound, NULL);
    GET(flags, flag, NULL);
    GET(next_shots, next_shot, NULL);
    GET(tables, table, more_table);
    GET(left_out, left_out, NULL);
    GET(other_answers, other_answer, more_other_answer);
    return ERR_NONE;
}

/* ---- window ---------------------------------------------------------------------------------- */

static enum errc get_bound(struct reader *r, json_t *o, const char *key, const struct bound **out)
{
    json_t *v = reader_member(o, key);
    *out = NULL;
    if (v == NULL)
        return ERR_NONE;
    struct bound *b = ARENA_NEW(r->arena, struct bound);
    reader_enter_key(r, key);
    TRY(reader_item(r, v, &fields_bound, b));
    reader_leave(r);
    *out = b;
    return ERR_NONE;
}

static enum errc more_setting(struct reader *r, json_t *o, void *item)
{
    struct window_setting *s = item;
    struct bound *others = NULL;
    TRY(get_bound(r, o, "low_bound", &s->low));
    TRY(get_bound(r, o, "high_bound", &s->high));
    TRY(reader_array(r, o, "runners_up", &fields_bound, &others, &s->n_runners_up, NULL));
    s->runners_up = ARENA_ARRAY(r->arena, const struct bound *, s->n_runners_up);
    for (size_t i = 0; i < s->n_runners_up; i++)
        s->runners_up[i] = &others[i];
    return ERR_NONE;
}

static enum errc more_no_window(struct reader *r, json_t *o, void *item)
{
    struct no_window *n = item;
    TRY(get_bound(r, o, "low_bound", &n->low));
    return get_bound(r, o, "high_bound", &n->high);
}

static enum errc read_window(struct reader *r, json_t *root, const struct window **out)
{
    *out = NULL;
    if (reader_member(root, "window") == NULL)
        return ERR_NONE;
    struct window *w = ARENA_NEW(r->arena, struct window);
    TRY(reader_array(r, root, "window", &fields_setting, &w->settings, &w->n_settings,
                     more_setting));
    TRY(reader_array(r, root, "no_window", &fields_no_window, &w->none, &w->n_none,
                     more_no_window));
    TRY(reader_array(r, root, "expected", &fields_expected, &w->expected, &w->n_expected, NULL));
    TRY(reader_array(r, root, "flags", &fields_flag, &w->flags, &w->n_flags, NULL));
    TRY(reader_array(r, root, "checks", &fields_criterion, &w->checks, &w->n_checks, NULL));
    TRY(reader_array(r, root, "next_shots", &fields_next_shot, &w->next_shots, &w->n_next_shots,
                     NULL));
    const char **assumptions = NULL;
    TRY(reader_texts(r, root, "assumptions", &assumptions, &w->n_assumptions));
    w->assumptions = ARENA_ARRAY(r->arena, struct assumption, w->n_assumptions);
    for (size_t i = 0; i < w->n_assumptions; i++)
        w->assumptions[i].text = assumptions[i];
    unsigned verdict = 0;
    reader_enter_key(r, "verdict");
    TRY(reader_word(r, reader_member(root, "verdict"), FIELD_VERDICT, &verdict));
    w->verdict = (enum verdict)verdict;
    reader_leave(r);
    *out = w;
    return ERR_NONE;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static enum errc check_version(struct reader *r, json_t *root)
{
    if (!json_is_object(root))
        return reader_complain(r, "a record is one object in braces");
    json_t *program = json_object_get(root, "plateau");
    json_t *version = json_object_get(program, "record");
    if (!json_is_integer(version))
        return reader_complain(
            r, "this is not a record: \"plateau\" with the record's version is missing");
    if (json_integer_value(version) == RECORD_VERSION)
        return ERR_NONE;
    reader_enter_key(r, "plateau");
    reader_enter_key(r, "record");
    return reader_complain(
        r, arena_printf(r->arena,
                        "the record has version %lld and this program reads version "
                        "%d; analyze the trial again with this program",
                        (long long)json_integer_value(version), RECORD_VERSION));
}

static enum errc read_root(struct reader *r, json_t *root, struct analysis *out)
{
    struct premises *p = ARENA_NEW(r->arena, struct premises);
    struct finding *findings = NULL;
    TRY(check_version(r, root));
    TRY(read_premises(r, root, p));
    TRY(reader_array(r, root, "studies", &fields_finding, &findings, &out->n_findings,
                     more_finding));
    TRY(read_window(r, root, &out->window));
    out->premises = p;
    out->findings = findings;
    return ERR_NONE;
}

enum errc report_record_read(struct arena *arena, const char *name, const char *bytes, size_t n,
                             struct analysis *out, struct error *e)
{
    *out = (struct analysis){0};
    struct reader r = {.arena = arena, .name = name, .bytes = bytes, .n = n, .error = e};
    json_error_t why;
    json_t *root = json_loadb(bytes, n, JSON_REJECT_DUPLICATES, &why);
    if (root == NULL)
        return ERR_AT(e, ERR_INPUT, name, why.line > 0 ? why.line : 1, "this is not JSON: %s",
                      layout_safe(arena, why.text));
    enum errc failed = read_root(&r, root, out);
    json_decref(root);
    if (failed != ERR_NONE)
        *out = (struct analysis){0};
    return failed;
}
