/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A short trial made from the record of an earlier one: the same mold, press, material and
 * criteria, the aims of its window as the settings in use, and entry tables for at most 18 shots
 * that show whether the melt and the gate still behave as they did. */
#include <math.h>
#include <string.h>

#include "commands.h"

#define SPREAD 2.5            /* how far from the aim the other speeds lie, as a factor */
#define HOLD_STEP 2.0         /* s: the longer hold times lie at least this far apart */
#define HOLD_SHARE 0.25       /* of the aim: the same */
#define SHOTS_PER_SPEED 2     /* with three speeds */
#define SHOTS_PER_SPEED_FEW 3 /* with fewer */
#define SHOTS_PER_HOLD_TIME 3
#define RECOVERY_MARGIN 0.5 /* s */
#define SHORTEST 0.6        /* of the limit: a hold time below tells no more */
#define OPEN_SHARE 0.8      /* of the limit: taken for open where the record does not say */

struct lot {
    struct arena *a;
    const char *record; /* its name, harmless */
    const char *sha256;
    const struct analysis *from;
    const char *mark; /* decimal mark of the tables; NULL: not known */
};

/* ---- trial.ini ------------------------------------------------------------------------------ */

/* What the next trial has to say anew, and what only names the files of the last one. */
static bool carried(const char *section, const char *key)
{
    static const char *const not_sections[] = {"approved", "columns", "files", "studies", "units"};
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

/* A trial made from a short one is no newer lot of a newer lot. */
static const char *title_of(const char *was)
{
    static const char lead[] = "New lot: ";
    while (strncmp(was, lead, sizeof lead - 1) == 0)
        was += sizeof lead - 1;
    return was;
}

static void add_trial(struct text *t, const struct lot *l, const struct ini_key *k)
{
    const char *was = facts_text(l->from->premises->facts, k->section, k->key);
    if (strcmp(k->key, "reason") == 0)
        text_add(t, "reason = new material lot\n");
    else if (!carried(k->section, k->key))
        text_addf(t, "#%s = %s\n", k->key, k->example);
    else if (was != NULL && strcmp(k->key, "title") == 0)
        text_addf(t, "title = New lot: %s\n", title_of(was));
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
              "# Read every line: what else has changed since then belongs in here. Fill in the "
              "lines that begin with #.\n",
              l->record);
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
        if (strcmp(section, "approved") == 0)
            new_approved_section(&t, l->from, l->record, l->sha256);
        else if (body.length > 0)
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

#define SETTINGS_MOST 4

/* What to run, in this order. */
struct plan {
    struct entry_rows rows;
    const struct window_setting *setting;
    double at[SETTINGS_MOST];
    size_t n;
    int shots; /* at each */
};

static void add_setting(struct plan *p, double v)
{
    for (size_t i = 0; i < p->n; i++)
        if (!(fabs(p->at[i] - v) > 1e-6 * v))
            return;
    if (v > 0.0 && p->n < SETTINGS_MOST)
        p->at[p->n++] = v;
}

static const char *words(const struct lot *l, const struct window_setting *s, double v)
{
    return setting_text(l->a, l->from->premises, s->setting, s->dimension, v);
}

/* As it is typed, with the decimal mark of the plant; empty where that is not known: a cell that
 * holds 6.5 is a date in one spreadsheet and a number in the next. */
static const char *cell_text(const struct lot *l, double v)
{
    char *s = arena_printf(l->a, "%.6g", v), *point = strchr(s, '.');
    if (point == NULL || (l->mark != NULL && strcmp(l->mark, "point") == 0))
        return s;
    if (l->mark == NULL)
        return "";
    *point = ',';
    return s;
}

/* The shortest cooling time that lets the screw recover; NAN: not known. */
static double recovery_time(const struct lot *l)
{
    double longest = facts_number(l->from->premises->facts, "running", "recovery_time", PL_NAN);
    for (size_t i = 0; i < l->from->n_findings; i++) {
        const struct finding *f = &l->from->findings[i];
        for (size_t k = 0; k < f->n_operating_point; k++)
            if (strcmp(f->operating_point[k].setting, "recovery_time") == 0)
                longest = fmax(longest, f->operating_point[k].high);
    }
    return round_10(ceil((longest + RECOVERY_MARGIN) * 10.0 - 1e-6) / 10.0);
}

static const char *finish_table(const struct lot *l, struct text *t, const struct plan *p)
{
    for (size_t i = 0; i < p->n; i++) {
        int first = (int)i * p->shots + 1;
        entry_table_guidance(t, arena_printf(l->a, "Shots %d %s %d: %s.", first,
                                             p->shots == 2 ? "and" : "to", first + p->shots - 1,
                                             words(l, p->setting, p->at[i])));
    }
    entry_table_head(t, &p->rows);
    double cooling = aim_of(l, "cooling_time", NULL);
    bool of_hold = strcmp(p->setting->setting, "hold_time") == 0;
    for (size_t i = 0; i < p->n; i++)
        for (int k = 0; k < p->shots; k++) {
            double rest = of_hold ? round_10(cooling + p->at[0] - p->at[i]) : PL_NAN;
            rest = fmax(rest, of_hold && isfinite(rest) ? recovery_time(l) : PL_NAN);
            struct entry_cell cells[] = {
                {"shot", arena_printf(l->a, "%d", (int)i * p->shots + k + 1)},
                {p->setting->setting, cell_text(l, p->at[i])},
                {"cooling_time", rest > 0.0 ? cell_text(l, rest) : ""}};
            entry_table_row(t, &p->rows, cells, PL_COUNT(cells));
        }
    return t->s;
}

/* ---- speeds ---------------------------------------------------------------------------------- */

/* The tested speed inside the limits that lies nearest to `wanted` on its side of the aim; beyond
 * the limits nobody has to go to show that they hold. */
static double tested_near(const struct finding *f, double wanted, double aim,
                          const struct window_setting *w)
{
    double best = PL_NAN;
    for (size_t i = 0; i < f->n_conditions; i++) {
        double v = f->conditions[i].setting;
        bool side = wanted > aim ? v > 1.1 * aim : v < aim / 1.1;
        bool speed = f->conditions[i].setting_dimension == w->dimension;
        if (f->conditions[i].left_out != NULL || !speed || !(v > 0.0) || !side)
            continue;
        if (v > w->high_value * (1.0 + 1e-9) || v < w->low_value * (1.0 - 1e-9))
            continue;
        if (isnan(best) || fabs(log(v / wanted)) < fabs(log(best / wanted)))
            best = v;
    }
    return best;
}

static void say_limit(const struct lot *l, const struct window_setting *s, bool lower,
                      struct text *t)
{
    const struct bound *b = lower ? s->low : s->high;
    double v = lower ? s->low_value : s->high_value;
    if (!isfinite(v))
        return;
    entry_table_guidance(t, arena_printf(l->a, "Approved: %s %s%s%s%s.",
                                         lower ? "at least" : "at most",
                                         setting_limit_text(l->a, l->from->premises, s->setting,
                                                            s->dimension, v, b, lower ? +1 : -1),
                                         b != NULL && b->because != NULL ? " (" : "",
                                         b != NULL && b->because != NULL
                                             ? text_harmless(l->a, b->because, strlen(b->because))
                                             : "",
                                         b != NULL && b->because != NULL ? ")" : ""));
}

static const char *viscosity_table(const struct lot *l, const struct study *s)
{
    const struct finding *f = finding_of(l, s->name);
    const struct window_setting *w = NULL;
    double aim = aim_of(l, "injection_speed", &w);
    if (f == NULL || !isfinite(aim))
        return NULL;
    struct plan p = {.rows = {s, 1}, .setting = w, .at = {aim}, .n = 1};
    double fast = tested_near(f, aim * SPREAD, aim, w);
    add_setting(&p, tested_near(f, aim / SPREAD, aim, w));
    add_setting(&p, fast);
    p.shots = p.n > 2 ? SHOTS_PER_SPEED : SHOTS_PER_SPEED_FEW;
    struct text t;
    text_init(&t, l->a);
    entry_table_begin(&t);
    entry_table_guidance(
        &t,
        "Viscosity of the new lot: pressure and fill time, one row per shot, in the order in "
        "which they were made. Same transfer position, melt and mold temperature as in the "
        "earlier trial. Let the press settle after every change of speed before shots are kept.");
    say_limit(l, w, true, &t);
    say_limit(l, w, false, &t);
    entry_table_guidance(
        &t, arena_printf(l->a,
                         "Every shot below stays inside these limits. The aim comes first: if "
                         "the lot is very stiff or very thin, that shot tells it%s. Stop "
                         "where the part burns or flashes.",
                         isfinite(fast) ? " before a faster one is tried" : ""));
    return finish_table(l, &t, &p);
}

/* ---- hold times ------------------------------------------------------------------------------ */

/* Cavities that were weighed one by one; 0: the parts were weighed together. */
static size_t cavities_weighed(const struct finding *f)
{
    for (size_t i = 0; i < f->n_tables; i++)
        if (strcmp(f->tables[i].name, "cavities") == 0)
            return f->tables[i].n_rows;
    return 0;
}

static double time_step(const struct lot *l)
{
    double step = facts_number(l->from->premises->facts, "press", "time_step", 0.1);
    return step > 0.0 ? step : 0.1;
}

/* Below the limit, where the record had the gate open: a gate that freezes later than before is
 * told from one that does not only by shots on both sides. */
static double short_of(const struct lot *l, const struct window_setting *w)
{
    double step = time_step(l), v = w->low_value;
    double open = w->low != NULL && w->low->low < v ? w->low->low : PL_NAN;
    double at = open >= SHORTEST * v ? open : OPEN_SHARE * v;
    return round_10(floor(fmin(at, v - step) / step + 1e-6) * step);
}

static const char *gate_freeze_table(const struct lot *l, const struct study *s)
{
    const struct finding *f = finding_of(l, s->name);
    const struct window_setting *w = NULL;
    double aim = aim_of(l, "hold_time", &w);
    if (f == NULL || !isfinite(aim))
        return NULL;
    struct plan p = {.rows = {s, cavities_weighed(f)},
                     .setting = w,
                     .at = {aim},
                     .n = 1,
                     .shots = SHOTS_PER_HOLD_TIME};
    double longer = ceil(fmax(HOLD_STEP, HOLD_SHARE * aim));
    if (w->low_value > 0.0)
        add_setting(&p, short_of(l, w));
    add_setting(&p, round_10(aim + 2.0 * longer));
    add_setting(&p, round_10(aim + longer));
    struct text t;
    text_init(&t, l->a);
    entry_table_begin(&t);
    entry_table_guidance(
        &t, "Gate freeze of the new lot: is the gate frozen at the approved hold time, as it was? "
            "One row per shot, in the order in which they were made. Take from the cooling time "
            "what is added to the hold time, so that the cycle stays the same, but leave the screw "
            "the time to recover. Let the press settle before shots are kept.");
    say_limit(l, w, true, &t);
    if (p.rows.cavities > 1)
        entry_table_guidance(&t, "Weigh every cavity by itself, as in the approved trial.");
    entry_table_guidance(
        &t,
        "The hold times lie on both sides of that limit: the shortest is there to show the "
        "weight that is missing while the gate is open. Keep none of its parts. The longest show "
        "the full weight.");
    return finish_table(l, &t, &p);
}

static const struct {
    const char *study;
    const char *(*make)(const struct lot *, const struct study *);
} tables[] = {{"gate-freeze", gate_freeze_table}, {"viscosity", viscosity_table}};

/* The decimal mark that all files of the record had; NULL: none, or not one. */
static const char *mark_of(const struct premises *p)
{
    const char *mark = NULL;
    for (size_t i = 0; i < p->n_files; i++) {
        const char *m = p->files[i].decimal;
        if (m == NULL || (strcmp(m, "comma") != 0 && strcmp(m, "point") != 0))
            continue;
        if (mark != NULL && strcmp(mark, m) != 0)
            return NULL;
        mark = m;
    }
    return mark;
}

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

enum errc new_lot_files(struct invocation *inv, const char *path, const char **mark,
                        struct output_file **out, size_t *n, struct error *e)
{
    struct analysis from;
    struct whole_file file;
    TRY(read_record(inv, path, &from, &file, e));
    if (*mark == NULL)
        *mark = mark_of(from.premises);
    struct lot l = {.a = inv->arena,
                    .record = cli_quote(inv->arena, path),
                    .sha256 = file.sha256,
                    .from = &from,
                    .mark = *mark};
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
