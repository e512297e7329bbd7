/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The record: everything that was concluded, and from which bytes. No clock, no host, no folder. */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "report/fields.h"

/* A name inside the trial; of an absolute path only its last part. */
static const char *relative_name(const char *name)
{
    if (name == NULL || name[0] != '/')
        return name;
    return strrchr(name, '/') + 1;
}

static const char *origin_words(struct arena *a, char origin)
{
    for (size_t i = 0; i < n_field_origins; i++)
        if (field_origins[i].origin == origin)
            return field_origins[i].words;
    return origin == '\0' ? NULL : arena_printf(a, "%c", origin);
}

static const char *unit_text(const struct field *f, const char *base)
{
    enum dimension d;
    const char *unit = NULL;
    if (f->type == FIELD_UNIT)
        memcpy(&unit, base + f->offset, sizeof unit);
    memcpy(&d, base + (f->type == FIELD_UNIT ? f->other : f->offset), sizeof d);
    if (unit != NULL)
        return unit;
    return d == DIM_TEXT ? NULL : dimension_unit(d);
}

static void put_field(struct node *o, struct arena *a, const struct field *f, const char *base)
{
    const void *at = base + f->offset;
    switch (f->type) {
    case FIELD_TEXT:
        node_put_text(o, f->key, *(const char *const *)at);
        break;
    case FIELD_FILE:
        node_put_text(o, f->key, relative_name(*(const char *const *)at));
        break;
    case FIELD_NUMBER:
        node_put_number(o, f->key, *(const double *)at);
        break;
    case FIELD_SIZE:
        node_put_integer(o, f->key, (long long)*(const size_t *)at);
        break;
    case FIELD_LONG:
        node_put_integer(o, f->key, *(const long *)at);
        break;
    case FIELD_INT:
        node_put_integer(o, f->key, *(const int *)at);
        break;
    case FIELD_BOOL:
        node_put_bool(o, f->key, *(const bool *)at);
        break;
    case FIELD_ORIGIN:
        node_put_text(o, f->key, origin_words(a, *(const char *)at));
        break;
    case FIELD_DIMENSION:
    case FIELD_UNIT:
        node_put_text(o, f->key, unit_text(f, base));
        break;
    case FIELD_VERDICT:
    case FIELD_FLAG_GRADE:
    case FIELD_BOUND_SIDE:
    case FIELD_BOUND_GRADE:
    case FIELD_FACT_KIND:
    case FIELD_OTHER_SHOTS:
        node_put_text(o, f->key, field_words(f->type)[*(const unsigned *)at]);
        break;
    }
}

static struct node *item_node(struct arena *a, const struct field_table *t, const void *item)
{
    struct node *o = node_new_object(a);
    for (size_t i = 0; i < t->n; i++)
        put_field(o, a, &t->fields[i], item);
    return o;
}

/* What the fields of an item do not say. */
typedef void more_fn(struct arena *a, struct node *o, const void *item);

static void put_array(struct arena *a, struct node *o, const char *key, const struct field_table *t,
                      const void *items, size_t n, more_fn *more)
{
    struct node *array = node_new_array(a);
    for (size_t i = 0; i < n; i++) {
        const void *item = (const char *)items + i * t->size;
        struct node *v = item_node(a, t, item);
        if (more != NULL)
            more(a, v, item);
        node_add(array, v);
    }
    node_put(o, key, array);
}

static void put_texts(struct arena *a, struct node *o, const char *key, const char *const *texts,
                      size_t n)
{
    struct node *array = node_new_array(a);
    for (size_t i = 0; i < n; i++)
        node_add_text(array, texts[i]);
    node_put(o, key, array);
}

/* ---- premises -------------------------------------------------------------------------------- */

static void more_repair(struct arena *a, struct node *o, const void *item)
{
    const struct premises_repair *r = item;
    struct node *lines = node_new_array(a);
    for (size_t i = 0; i < PL_COUNT(r->lines) && r->lines[i] > 0; i++)
        node_add_integer(lines, r->lines[i]);
    node_put(o, "lines", lines);
}

static void more_file(struct arena *a, struct node *o, const void *item)
{
    const struct premises_file *f = item;
    put_array(a, o, "repairs", &fields_repair, f->repairs, f->n_repairs, more_repair);
    put_array(a, o, "excluded", &fields_left_out, f->excluded, f->n_excluded, NULL);
    put_texts(a, o, "preamble", f->preamble, f->n_preamble);
    put_texts(a, o, "unused", f->unused, f->n_unused);
}

static int compare_facts(const void *a, const void *b)
{
    const struct fact *const *x = a;
    const struct fact *const *y = b;
    int section = strcmp((*x)->section, (*y)->section);
    return section != 0 ? section : strcmp((*x)->key, (*y)->key);
}

static void put_facts(struct arena *a, struct node *root, const struct facts *facts)
{
    struct node *trial = node_new_object(a), *others = node_new_array(a);
    size_t n = facts == NULL ? 0 : facts->n;
    const struct fact **sorted = ARENA_ARRAY(a, const struct fact *, n);
    for (size_t i = 0; i < n; i++)
        sorted[i] = &facts->items[i];
    if (n > 1)
        qsort(sorted, n, sizeof *sorted, compare_facts);
    for (size_t i = 0; i < n; i++) {
        if (strcmp(sorted[i]->section, "trial") == 0)
            node_put_text(trial, sorted[i]->key, sorted[i]->text);
        else
            node_add(others, item_node(a, &fields_fact, sorted[i]));
    }
    node_put(root, "trial", trial);
    node_put(root, "facts", others);
    node_put_text(root, "facts_file", facts == NULL ? NULL : relative_name(facts->file));
}

static void put_display(struct arena *a, struct node *root, const struct premises *p)
{
    struct node *display = node_new_object(a);
    for (int d = 0; d < DIM_N; d++) {
        const struct display_unit *u = &p->display[d];
        bool canonical =
            u->name == NULL || (strcmp(u->name, dimension_unit((enum dimension)d)) == 0);
        if (canonical)
            continue;
        struct node *o = node_new_object(a);
        node_put_text(o, "unit", u->name);
        node_put_number(o, "factor", u->factor);
        node_put_number(o, "offset", u->offset);
        node_put(display, dimension_name((enum dimension)d), o);
    }
    node_put(root, "display", display);
}

static enum errc put_premises(struct arena *a, struct node *root, const struct premises *p,
                              struct error *e)
{
    if (p->seed > LLONG_MAX)
        return ERR_SET(e, ERR_INTERNAL, "the seed %lu is too large for the record", p->seed);
    struct node *options = item_node(a, &fields_options, p);
    node_put_integer(options, "seed", (long long)p->seed);
    node_put_bool(options, "single_file", p->single_file);
    node_put(root, "options", options);
    put_facts(a, root, p->facts);
    put_display(a, root, p);
    put_array(a, root, "inputs", &fields_file, p->files, p->n_files, more_file);
    put_texts(a, root, "unread", p->unread, p->n_unread);
    put_texts(a, root, "cautions", p->cautions, p->n_cautions);
    return ERR_NONE;
}

/* ---- studies --------------------------------------------------------------------------------- */

static const char *parameter_name(struct arena *a, const struct model *m, size_t i)
{
    return m->parameter[i] != NULL ? m->parameter[i] : arena_printf(a, "p%zu", i + 1);
}

/* Covariance by name, as parameters are: the order of the keys carries no meaning. */
static void more_model(struct arena *a, struct node *o, const void *item)
{
    const struct model *m = item;
    struct node *parameters = node_new_object(a), *covariance = node_new_object(a);
    for (size_t i = 0; i < m->n_parameters; i++) {
        node_put(parameters, parameter_name(a, m, i), node_new_number(a, m->value[i]));
        struct node *row = node_new_object(a);
        for (size_t j = 0; j < m->n_parameters; j++)
            node_put(row, parameter_name(a, m, j), node_new_number(a, m->covariance[i][j]));
        node_put(covariance, parameter_name(a, m, i), row);
    }
    node_put(o, "parameters", parameters);
    node_put(o, "covariance", covariance);
}

static void more_table(struct arena *a, struct node *o, const void *item)
{
    const struct data_table *t = item;
    put_array(a, o, "columns", &fields_column, t->columns, t->n_columns, NULL);
    struct node *rows = node_new_array(a);
    for (size_t r = 0; r < t->n_rows; r++) {
        struct node *row = node_new_array(a);
        for (size_t c = 0; c < t->n_columns; c++) {
            size_t at = r * t->n_columns + c;
            if (t->columns[c].is_text)
                node_add_text(row, t->texts[at]);
            else
                node_add_number(row, t->values[at]);
        }
        node_add(rows, row);
    }
    node_put(o, "rows", rows);
}

static void more_other_answer(struct arena *a, struct node *o, const void *item)
{
    const struct other_answer *x = item;
    put_array(a, o, "quantities", &fields_quantity, x->quantities, x->n_quantities, NULL);
    put_array(a, o, "criteria", &fields_criterion, x->criteria, x->n_criteria, NULL);
    put_array(a, o, "bounds", &fields_bound, x->bounds, x->n_bounds, NULL);
}

static void more_finding(struct arena *a, struct node *o, const void *item)
{
    const struct finding *f = item;
    struct node *files = node_new_array(a), *point = node_new_object(a);
    for (size_t i = 0; i < f->n_files; i++)
        node_add_text(files, relative_name(f->files[i]));
    for (size_t i = 0; i < f->n_operating_point; i++)
        node_put(point, f->operating_point[i].setting,
                 item_node(a, &fields_operating, &f->operating_point[i]));
    node_put(o, "files", files);
    node_put(o, "operating_point", point);
    put_array(a, o, "quantities", &fields_quantity, f->quantities, f->n_quantities, NULL);
    put_array(a, o, "criteria", &fields_criterion, f->criteria, f->n_criteria, NULL);
    put_array(a, o, "conditions", &fields_condition, f->conditions, f->n_conditions, NULL);
    put_array(a, o, "models", &fields_model, f->models, f->n_models, more_model);
    put_array(a, o, "bounds", &fields_bound, f->bounds, f->n_bounds, NULL);
    put_array(a, o, "flags", &fields_flag, f->flags, f->n_flags, NULL);
    put_array(a, o, "next_shots", &fields_next_shot, f->next_shots, f->n_next_shots, NULL);
    put_array(a, o, "tables", &fields_table, f->tables, f->n_tables, more_table);
    put_array(a, o, "left_out", &fields_left_out, f->left_out, f->n_left_out, NULL);
    put_array(a, o, "other_answers", &fields_other_answer, f->other_answers, f->n_other_answers,
              more_other_answer);
}

/* ---- window ---------------------------------------------------------------------------------- */

static void put_bound(struct arena *a, struct node *o, const char *key, const struct bound *b)
{
    if (b == NULL)
        node_put_text(o, key, NULL);
    else
        node_put(o, key, item_node(a, &fields_bound, b));
}

static void more_setting(struct arena *a, struct node *o, const void *item)
{
    const struct window_setting *s = item;
    put_bound(a, o, "low_bound", s->low);
    put_bound(a, o, "high_bound", s->high);
    node_put_text(o, "low_from", s->low != NULL ? s->low->study : NULL);
    node_put_text(o, "high_from", s->high != NULL ? s->high->study : NULL);
    struct node *others = node_new_array(a);
    for (size_t i = 0; i < s->n_runners_up; i++)
        node_add(others, item_node(a, &fields_bound, s->runners_up[i]));
    node_put(o, "runners_up", others);
}

static void more_no_window(struct arena *a, struct node *o, const void *item)
{
    const struct no_window *n = item;
    put_bound(a, o, "low_bound", n->low);
    put_bound(a, o, "high_bound", n->high);
}

static void put_window(struct arena *a, struct node *root, const struct window *w)
{
    if (w == NULL) {
        node_put_text(root, "window", NULL);
        return;
    }
    struct node *assumptions = node_new_array(a);
    for (size_t i = 0; i < w->n_assumptions; i++)
        node_add_text(assumptions, w->assumptions[i].text);
    node_put(root, "assumptions", assumptions);
    node_put_text(root, "verdict", verdict_text(w->verdict));
    put_array(a, root, "window", &fields_setting, w->settings, w->n_settings, more_setting);
    put_array(a, root, "no_window", &fields_no_window, w->none, w->n_none, more_no_window);
    put_array(a, root, "expected", &fields_expected, w->expected, w->n_expected, NULL);
    put_array(a, root, "flags", &fields_flag, w->flags, w->n_flags, NULL);
    put_array(a, root, "checks", &fields_criterion, w->checks, w->n_checks, NULL);
    put_array(a, root, "next_shots", &fields_next_shot, w->next_shots, w->n_next_shots, NULL);
}

enum errc report_record(struct text *out, const struct analysis *x, struct error *e)
{
    struct arena *a = out->arena;
    struct node *root = node_new_object(a), *program = node_new_object(a);
    node_put_integer(program, "record", RECORD_VERSION);
    node_put_text(program, "version", PLATEAU_VERSION);
    node_put(root, "plateau", program);
    TRY(put_premises(a, root, x->premises, e));
    put_array(a, root, "studies", &fields_finding, x->findings, x->n_findings, more_finding);
    put_window(a, root, x->window);
    size_t start = out->length;
    enum errc failed = node_print(out, root, e);
    if (failed != ERR_NONE) {
        out->length = start;
        out->s[start] = '\0';
        return failed;
    }
    text_add_char(out, '\n');
    return ERR_NONE;
}
