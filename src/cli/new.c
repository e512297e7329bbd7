/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>
#include <sys/stat.h>

#include "commands.h"

/* ---- the blank trial.ini -------------------------------------------------------------------- */

static void add_comment(struct text *t, const char *s)
{
    text_add(t, "# ");
    struct text wrapped;
    text_init(&wrapped, t->arena);
    text_add_wrapped(&wrapped, s, 2, 0, 96);
    for (const char *p = wrapped.s; *p != '\0'; p++) {
        text_add_char(t, *p);
        if (*p == '\n' && p[1] != '\0')
            text_add(t, "# ");
    }
}

/* What stands for a name of the user's own. */
static const char *placeholder(const char *section)
{
    static const char *const names[][2] = {{"columns", "STUDY.COLUMN"},
                                           {"dimensions", "NAME"},
                                           {"files", "STUDY.decimal"},
                                           {"studies", "STUDY"},
                                           {"units", "STUDY.COLUMN"}};
    for (size_t i = 0; i < PL_COUNT(names); i++)
        if (strcmp(names[i][0], section) == 0)
            return names[i][1];
    return "NAME";
}

static void add_key(struct text *t, const struct ini_key *k)
{
    text_add_char(t, '\n');
    add_comment(t, k->purpose);
    text_addf(t, "#%s = %s\n", strcmp(k->key, "*") == 0 ? placeholder(k->section) : k->key,
              k->example);
}

/* "0.5 s or 5 %": the default as it could be typed. */
static const char *default_as_typed(struct arena *a, const struct criterion_spec *c)
{
    struct text t;
    text_init(&t, a);
    bool ratio = c->dimension == DIM_RATIO;
    if (!isnan(c->absolute))
        text_addf(&t, "%.10g %s", ratio ? c->absolute * 100.0 : c->absolute,
                  ratio ? "%" : dimension_unit(c->dimension));
    if (!isnan(c->relative))
        text_addf(&t, "%s%.10g %%", t.length > 0 ? " or " : "", c->relative * 100.0);
    return t.s;
}

static void add_criteria(struct text *t, const struct ini_key *k)
{
    size_t n;
    const struct criterion_spec *all = cli_criteria(t->arena, &n);
    text_add_char(t, '\n');
    add_comment(t, k->purpose);
    for (size_t i = 0; i < n; i++) {
        text_add_char(t, '\n');
        add_comment(t, criterion_text(t->arena, &all[i]));
        text_addf(t, "#%s = %s\n", all[i].name, default_as_typed(t->arena, &all[i]));
    }
}

static const char *blank_ini(struct arena *a)
{
    struct text t;
    text_init(&t, a);
    text_add(&t, "# trial.ini: what was run, on what, against which criteria.\n"
                 "#\n"
                 "# Take the # away from a line to use its key. Every quantity carries its unit.\n"
                 "# Every key may stay out; a study that cannot go on without one says so.\n");
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    const char *section = "";
    for (size_t i = 0; i < n; i++) {
        if (strcmp(keys[i].section, "approved") == 0)
            continue; /* written by `new --from`, never by hand */
        if (strcmp(section, keys[i].section) != 0)
            text_addf(&t, "\n[%s]\n", keys[i].section);
        section = keys[i].section;
        if (strcmp(section, "criteria") == 0)
            add_criteria(&t, &keys[i]);
        else
            add_key(&t, &keys[i]);
    }
    return t.s;
}

/* ---- the command ---------------------------------------------------------------------------- */

static enum errc refuse_existing(struct arena *a, const struct output_file *files, size_t n,
                                 struct error *e)
{
    struct stat st;
    for (size_t i = 0; i < n; i++)
        if (lstat(files[i].name, &st) == 0)
            return ERR_SET(e, ERR_WRITE, "'%s' is there already; nothing was written",
                           cli_quote(a, files[i].name));
    return ERR_NONE;
}

static enum errc make_trial(struct invocation *inv, const struct output_file *files, size_t n,
                            struct error *e)
{
    struct text made;
    text_init(&made, inv->arena);
    TRY(refuse_existing(inv->arena, files, n, e));
    TRY(output_make_folder(inv->arena, inv->argument, e));
    for (size_t i = 0; i < n; i++) {
        TRY(output_create(inv->arena, files[i].name, files[i].bytes, files[i].n, e));
        text_addf(&made, "%s\n", cli_quote(inv->arena, files[i].name));
    }
    cli_print(inv, &made);
    return ERR_NONE;
}

static enum errc blank_files(struct invocation *inv, struct output_file **out, size_t *n)
{
    struct arena *a = inv->arena;
    size_t n_studies;
    const struct study *const *studies = study_all(&n_studies);
    struct output_file *files = ARENA_ARRAY(a, struct output_file, n_studies + 1);
    const char *ini = blank_ini(a);
    files[0] = (struct output_file){"trial.ini", ini, strlen(ini)};
    for (size_t i = 0; i < n_studies; i++) {
        const char *table = entry_table_text(a, studies[i]);
        files[i + 1] =
            (struct output_file){arena_printf(a, "%s.csv", studies[i]->name), table, strlen(table)};
    }
    *out = files;
    *n = n_studies + 1;
    return ERR_NONE;
}

static bool is_table(const char *name)
{
    size_t length = strlen(name);
    return length >= 4 && strcmp(name + length - 4, ".csv") == 0;
}

/* `# decimal = comma` behind the first line, `sep=;`: every weight of a balance with three decimals
 * could be a thousand, and then this line tells. */
static void say_decimal(struct arena *a, const char *mark, struct output_file *files, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!is_table(files[i].name))
            continue;
        size_t first = strcspn(files[i].bytes, "\n") + 1;
        files[i].bytes =
            arena_printf(a, "%.*s# decimal = %s\n%s", (int)first, (const char *)files[i].bytes,
                         mark, (const char *)files[i].bytes + first);
        files[i].n = strlen(files[i].bytes);
    }
}

static void make_rectangles(struct arena *a, struct output_file *files, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!is_table(files[i].name))
            continue;
        files[i].bytes = entry_table_rectangle(a, files[i].bytes);
        files[i].n = strlen(files[i].bytes);
    }
}

static enum errc run_new(struct invocation *inv, struct error *e)
{
    struct output_file *files = NULL;
    size_t n = 0;
    const char *record = options_value(inv, "--from"), *mark = options_value(inv, "--decimal");
    TRY(record != NULL ? new_lot_files(inv, record, &mark, &files, &n, e)
                       : blank_files(inv, &files, &n));
    if (mark != NULL)
        say_decimal(inv->arena, mark, files, n);
    make_rectangles(inv->arena, files, n);
    for (size_t i = 0; i < n; i++)
        files[i].name = path_join(inv->arena, inv->argument, files[i].name);
    return make_trial(inv, files, n, e);
}

int command_new(struct invocation *inv)
{
    struct error e = {.code = ERR_NONE};
    return run_new(inv, &e) != ERR_NONE ? cli_fail(inv, &e) : 0;
}
