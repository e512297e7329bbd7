/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A short trial made from the record of an earlier one: the same mold, press, material and
 * criteria, the aims of its window as the settings in use, and entry tables for a dozen shots that
 * show whether the melt and the gate still behave as they did. */
#include <math.h>
#include <string.h>

#include "commands.h"

#define SPREAD 2.5            /* how far from the aim the other speeds lie, as a factor */
#define HOLD_STEP 2.0         /* s: the second hold time lies this much above the aim */
#define SHOTS_PER_SPEED 2     /* with three speeds */
#define SHOTS_PER_SPEED_FEW 3 /* with fewer */
#define SHOTS_PER_HOLD_TIME 3

struct lot {
    struct arena *a;
    const char *record; /* its name, harmless */
    const char *sha256;
    const struct analysis *from;
};

/* ---- trial.ini ------------------------------------------------------------------------------ */

/* What the next trial has to say anew, and what only names the files of the last one. */
static bool carried(const char *section, const char *key)
{
    static const char *const not_sections[] = {"columns", "files", "studies", "units"};
    static const char *const not_keys[] = {"author", "cycle_time", "date", "lot", "reason"};
    for (size_t i = 0; i < PL_COUNT(not_sections); i++)
        if (strcmp(section, not_sections[i]) == 0)
            return false;
    for (size_t i = 0; i < PL_COUNT(not_keys); i++)
        if (strcmp(key, not_keys[i]) == 0)
            return false;
    return true;
}

static bool one_line(const char *s)
{
    for (; s != NULL && *s != '\0'; s++)
        if ((unsigned char)*s < ' ' || *s == 0x7f)
            return false;
    return s != NULL;
}

static double aim_of(const struct lot *l, const char *setting, const struct window_setting **out)
{
    const struct window *w = l->from->window;
    for (size_t i = 0; w != NULL && i < w->n_settings; i++)
        if (strcmp(w->settings[i].setting, setting) == 0) {
            if (out != NULL)
                *out = &w->settings[i];
            return w->settings[i].aim;
        }
    return PL_NAN;
}

/* Times, speeds and forces: a pressure in the record is melt pressure, in [running] it may not be.
 */
static bool aim_can_be_typed(const struct ini_key *k)
{
    return k->dimension == DIM_TIME || k->dimension == DIM_SPEED || k->dimension == DIM_FORCE ||
           k->dimension == DIM_TEMPERATURE;
}

static void add_running(struct text *t, const struct lot *l, const struct ini_key *k)
{
    double aim = aim_can_be_typed(k) ? aim_of(l, k->key, NULL) : PL_NAN;
    const struct fact *f = facts_find(l->from->premises->facts, k->section, k->key);
    if (isfinite(aim))
        text_addf(t, "%s = %.10g %s\n", k->key, aim, dimension_unit(k->dimension));
    else if (f != NULL && f->given && carried(k->section, k->key))
        text_addf(t, "%s = %s\n", k->key, f->text);
    else if (strcmp(k->key, "cycle_time") == 0)
        text_addf(t, "#%s = %s\n", k->key, k->example);
}

static void add_trial(struct text *t, const struct lot *l, const struct ini_key *k)
{
    const char *was = facts_text(l->from->premises->facts, k->section, k->key);
    if (strcmp(k->key, "reason") == 0)
        text_add(t, "reason = new material lot\n");
    else if (!carried(k->section, k->key))
        text_addf(t, "#%s = %s\n", k->key, k->example);
    else if (was != NULL && strcmp(k->key, "title") == 0)
        text_addf(t, "title = New lot: %s\n", was);
    else if (was != NULL)
        text_addf(t, "%s = %s\n", k->key, was);
}

static void add_given(struct text *t, const struct lot *l, const struct ini_key *k)
{
    const struct facts *facts = l->from->premises->facts;
    for (size_t i = 0; i < facts->n; i++) {
        const struct fact *f = &facts->items[i];
        bool named = strcmp(k->key, "*") == 0 || strcmp(k->key, f->key) == 0;
        if (named && f->given && strcmp(f->section, k->section) == 0 && carried(f->section, f->key))
            text_addf(t, "%s = %s\n", f->key, f->text);
    }
}

static enum errc check_facts(const struct lot *l, struct error *e)
{
    const struct facts *facts = l->from->premises->facts;
    for (size_t i = 0; i < facts->n; i++) {
        const struct fact *f = &facts->items[i];
        if (!one_line(f->key) || !one_line(f->section) || (f->given && !one_line(f->text)))
            return ERR_SET(e, ERR_INPUT, "%s: a fact of [%s] is no line of a trial.ini", l->record,
                           cli_quote(l->a, f->section));
    }
    return ERR_NONE;
}

static const char *lot_ini(const struct lot *l)
{
    struct text t, body;
    text_init(&t, l->a);
    text_addf(&t,
              "# A short trial after a change of material lot, made from the record\n"
              "#   %s\n"
              "#   SHA-256 %s\n"
              "# Read every line: what else has changed since then belongs in here. Fill in the "
              "lines that begin with #.\n",
              l->record, l->sha256);
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    for (size_t i = 0; i < n;) {
        const char *section = keys[i].section;
        text_init(&body, l->a);
        for (; i < n && strcmp(keys[i].section, section) == 0; i++) {
            if (strcmp(section, "running") == 0)
                add_running(&body, l, &keys[i]);
            else if (strcmp(section, "trial") == 0)
                add_trial(&body, l, &keys[i]);
            else
                add_given(&body, l, &keys[i]);
        }
        if (body.length > 0)
            text_addf(&t, "\n[%s]\n%s%s", section,
                      strcmp(section, "running") == 0
                          ? "# The aims of the window in the record, where it had them.\n"
                          : "",
                      body.s);
    }
    return t.s;
}

/* ---- entry tables --------------------------------------------------------------------------- */

static const struct finding *finding_of(const struct lot *l, const char *study)
{
    for (size_t i = 0; i < l->from->n_findings; i++)
        if (strcmp(l->from->findings[i].study, study) == 0)
            return &l->from->findings[i];
    return NULL;
}

/* The tested speed, good and unlimited, that lies nearest to `wanted` on its side of the aim. */
static double tested_near(const struct finding *f, double wanted, double aim,
                          const struct window_setting *w)
{
    double best = PL_NAN;
    for (size_t i = 0; i < f->n_conditions; i++) {
        double v = f->conditions[i].setting;
        bool side = wanted > aim ? v > 1.1 * aim : v < aim / 1.1;
        if (f->conditions[i].left_out != NULL || !isfinite(v) || !(v > 0.0) || !side)
            continue;
        if (isfinite(w->high_value) && v > w->high_value)
            continue;
        if (isnan(best) || fabs(log(v / wanted)) < fabs(log(best / wanted)))
            best = v;
    }
    return best;
}

#define SETTINGS_MOST 3

/* What to run, in this order. */
struct plan {
    const struct study *study;
    enum dimension dimension;
    double at[SETTINGS_MOST];
    size_t n;
    int shots; /* at each */
};

/* "Shots 1 and 2: 59 mm/s." In words, because a cell that holds 6.5 is a date in one spreadsheet
 * and a number in the next, and would decide the decimal mark of what is typed beside it. */
static void add_plan(struct text *t, const struct plan *p)
{
    for (size_t i = 0; i < p->n; i++) {
        int first = (int)i * p->shots + 1;
        entry_table_guidance(
            t, arena_printf(t->arena, "Shots %d %s %d: %s.", first, p->shots == 2 ? "and" : "to",
                            first + p->shots - 1,
                            value_text(t->arena, NULL, p->dimension, p->at[i], PL_NAN)));
    }
}

static const char *finish_table(struct text *t, const struct plan *p)
{
    add_plan(t, p);
    entry_table_columns(t, p->study);
    entry_table_head(t, p->study);
    int shot = 0;
    for (size_t i = 0; i < p->n; i++)
        for (int k = 0; k < p->shots; k++) {
            bool whole = !(fabs(p->at[i] - round(p->at[i])) > 0.0);
            entry_table_row(t, p->study, ++shot,
                            whole ? arena_printf(t->arena, "%.0f", p->at[i]) : "");
        }
    return t->s;
}

static const char *viscosity_table(const struct lot *l, const struct study *s)
{
    const struct finding *f = finding_of(l, s->name);
    const struct window_setting *w = NULL;
    double aim = aim_of(l, "injection_speed", &w);
    if (f == NULL || !isfinite(aim))
        return NULL;
    double slow = tested_near(f, aim / SPREAD, aim, w), fast = tested_near(f, aim * SPREAD, aim, w);
    struct plan p = {.study = s, .dimension = DIM_SPEED, .at = {aim}, .n = 1};
    if (isfinite(slow))
        p.at[p.n++] = slow;
    if (isfinite(fast))
        p.at[p.n++] = fast;
    p.shots = p.n == SETTINGS_MOST ? SHOTS_PER_SPEED : SHOTS_PER_SPEED_FEW;
    struct text t;
    text_init(&t, l->a);
    entry_table_begin(&t);
    entry_table_guidance(
        &t,
        "Viscosity of the new lot: pressure and fill time, one row per shot, in the order in "
        "which they were made. Same transfer position, melt and mold temperature as in the "
        "earlier trial. Let the press settle after every change of speed before shots are kept.");
    entry_table_guidance(
        &t,
        "The aim comes first: if the lot is very stiff or very runny, that shot tells it before "
        "a faster one is tried. Stop where the part burns or flashes.");
    return finish_table(&t, &p);
}

static const char *gate_freeze_table(const struct lot *l, const struct study *s)
{
    double aim = aim_of(l, "hold_time", NULL);
    if (finding_of(l, s->name) == NULL || !isfinite(aim))
        return NULL;
    struct plan p = {.study = s,
                     .dimension = DIM_TIME,
                     .at = {aim, aim + HOLD_STEP},
                     .n = 2,
                     .shots = SHOTS_PER_HOLD_TIME};
    struct text t;
    text_init(&t, l->a);
    entry_table_begin(&t);
    entry_table_guidance(
        &t, "Gate freeze of the new lot: does the part still gain weight beyond the hold time in "
            "use? One row per shot, in the order in which they were made. Take from the cooling "
            "time what is added to the hold time, so that the cycle stays the same, and let the "
            "press settle before shots are kept.");
    return finish_table(&t, &p);
}

static const struct {
    const char *study;
    const char *(*make)(const struct lot *, const struct study *);
} tables[] = {{"gate-freeze", gate_freeze_table}, {"viscosity", viscosity_table}};

/* ---- the folder ------------------------------------------------------------------------------ */

static enum errc read_record(struct invocation *inv, const char *path, struct analysis *from,
                             struct whole_file *file, struct error *e)
{
    TRY(read_whole_file(inv->arena, path, file, e));
    TRY(report_record_read(inv->arena, cli_quote(inv->arena, path), file->bytes, file->n, from, e));
    if (from->window == NULL || from->window->n_settings == 0)
        return ERR_SET(e, ERR_INPUT,
                       "%s holds no window: no study of that trial bounds a setting, so there is "
                       "nothing to show again",
                       cli_quote(inv->arena, path));
    return ERR_NONE;
}

enum errc new_lot_files(struct invocation *inv, const char *path, struct output_file **out,
                        size_t *n, struct error *e)
{
    struct analysis from;
    struct whole_file file;
    TRY(read_record(inv, path, &from, &file, e));
    struct lot l = {.a = inv->arena,
                    .record = cli_quote(inv->arena, path),
                    .sha256 = file.sha256,
                    .from = &from};
    TRY(check_facts(&l, e));
    struct output_file *files = ARENA_ARRAY(inv->arena, struct output_file, 1 + PL_COUNT(tables));
    *n = 0;
    const char *ini = lot_ini(&l);
    files[(*n)++] = (struct output_file){"trial.ini", ini, strlen(ini)};
    for (size_t i = 0; i < PL_COUNT(tables); i++) {
        const struct study *s = study_find(tables[i].study);
        const char *table = s != NULL ? tables[i].make(&l, s) : NULL;
        if (table != NULL)
            files[(*n)++] = (struct output_file){arena_printf(inv->arena, "%s.csv", s->name), table,
                                                 strlen(table)};
    }
    if (*n == 1)
        return ERR_SET(e, ERR_INPUT,
                       "%s has neither an aim for the injection speed nor one for the hold time: a "
                       "short trial has nothing to show; run the studies anew ('plateau new %s')",
                       l.record, cli_quote(inv->arena, inv->argument));
    *out = files;
    return ERR_NONE;
}
