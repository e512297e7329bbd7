/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A record made again from its inputs: the same bytes, or exactly what differs. Page and figures
 * beside it must be those of this record: an analysis that was killed while it put its files into
 * place leaves some of the old ones, and a page can be edited. */
#include <string.h>
#include <unistd.h>

#include "commands.h"

#define LISTED 40 /* differences; all of them with --all */

struct verification {
    struct invocation *inv;
    struct text said; /* the answer */
    bool quiet;
};

/* ---- where the trial lies -------------------------------------------------------------------- */

/* The part of a path before its last slash; "." when there is none. */
static const char *parent_of(struct arena *a, const char *path)
{
    size_t n = strlen(path);
    while (n > 1 && path[n - 1] == '/')
        n--;
    while (n > 0 && path[n - 1] != '/')
        n--;
    while (n > 1 && path[n - 1] == '/')
        n--;
    return n == 0 ? "." : arena_copy_n(a, path, n);
}

/* report/record.json lies in its trial, STEM-report/record.json beside its single file. */
static const char *trial_of(struct verification *v, const struct premises *p)
{
    struct arena *a = v->inv->arena;
    const char *given = options_value(v->inv, "--trial");
    if (given != NULL)
        return given;
    const char *folder = parent_of(a, parent_of(a, v->inv->argument));
    if (strchr(v->inv->argument, '/') == NULL)
        folder = "..";
    for (size_t i = 0; p->single_file && i < p->n_files; i++)
        if (p->files[i].study != NULL && *p->files[i].study != '\0')
            return path_join(a, folder, p->files[i].name);
    return folder;
}

/* ---- inputs -----------------------------------------------------------------------------------
 */

static const struct premises_file *file_named(const struct premises *p, const char *name)
{
    for (size_t i = 0; i < p->n_files; i++)
        if (p->files[i].name != NULL && strcmp(p->files[i].name, name) == 0)
            return &p->files[i];
    return NULL;
}

/* What became of the inputs of a record. */
struct input_changes {
    size_t recorded, missing, changed; /* `changed`: other bytes, or not there then */
};

static struct input_changes compare_inputs(struct verification *v, const struct premises *recorded,
                                           const struct premises *now)
{
    struct arena *a = v->inv->arena;
    struct input_changes c = {0};
    for (size_t i = 0; i < recorded->n_files; i++) {
        const struct premises_file *was = &recorded->files[i];
        if (was->name == NULL)
            continue;
        const struct premises_file *is = file_named(now, was->name);
        bool changed = is != NULL && (was->sha256 == NULL || strcmp(was->sha256, is->sha256) != 0);
        if (is == NULL)
            text_addf(&v->said, "input %s is not there any more\n", cli_quote(a, was->name));
        else if (changed)
            text_addf(&v->said, "input %s has changed since (its SHA-256 differs)\n",
                      cli_quote(a, was->name));
        c.recorded++;
        c.missing += is == NULL;
        c.changed += changed;
    }
    for (size_t i = 0; i < now->n_files; i++)
        if (now->files[i].name != NULL && file_named(recorded, now->files[i].name) == NULL) {
            text_addf(&v->said, "input %s was not there then\n", cli_quote(a, now->files[i].name));
            c.changed++;
        }
    return c;
}

/* Without one of its inputs a record cannot come out the same: a file is gone, or the trial is
 * another one. Said as an error: nothing was compared. */
static void say_where_inputs_are_sought(struct verification *v, const char *path,
                                        const struct input_changes *c)
{
    struct arena *a = v->inv->arena;
    const char *verb = c->missing == 1 ? "is" : "are", *what = c->missing == 1 ? "it" : "them";
    const char *shown = cli_quote(a, path);
    if (c->missing == c->recorded && c->missing > 1)
        text_addf(&v->said, "plateau: nothing was compared: none of the %zu inputs is there. ",
                  c->recorded);
    else
        text_addf(&v->said, "plateau: nothing was compared: %zu of the %zu inputs %s not there. ",
                  c->missing, c->recorded, verb);
    if (options_value(v->inv, "--trial") != NULL)
        text_addf(&v->said,
                  "--trial says '%s': put %s there, or name the trial the record was "
                  "made from\n",
                  shown, what);
    else
        text_addf(&v->said,
                  "The inputs of a record are looked for beside it, here in '%s'; put %s back, or "
                  "name the trial the record was made from: --trial PATH\n",
                  shown, what);
    fputs(v->said.s, v->inv->err);
    v->quiet = true;
}

/* ---- the answer -------------------------------------------------------------------------------
 */

static const char *counted(struct arena *a, size_t n, const char *one, const char *more)
{
    return arena_printf(a, "%zu %s", n, n == 1 ? one : more);
}

/* A file that was opened in a spreadsheet and saved again has other bytes, and often no other
 * number. */
static bool only_inputs_differ(const struct record_differences *d)
{
    for (size_t i = 0; i < d->n; i++)
        if (strncmp(d->items[i].where, "inputs[", strlen("inputs[")) != 0)
            return false;
    return d->n > 0;
}

static void list_differences(struct verification *v, const struct record_differences *d)
{
    bool all = options_value(v->inv, "--all") != NULL;
    for (size_t i = 0; i < d->n && (all || i < LISTED); i++)
        text_addf(&v->said, "%s\n  recorded: %s\n  now:      %s\n", d->items[i].where,
                  d->items[i].recorded, d->items[i].now);
    if (d->n > LISTED && !all)
        text_addf(&v->said, "and %zu more; --all lists them\n", d->n - LISTED);
}

static bool same_bytes(const struct record_bytes *recorded, const struct computed *c)
{
    return recorded->n == c->record.length &&
           memcmp(recorded->bytes, c->record.s, recorded->n) == 0;
}

/* True when the findings are the same. */
static enum errc compare_records(struct verification *v, const struct record_bytes *recorded,
                                 const struct computed *c, bool *same, struct error *e)
{
    struct arena *a = v->inv->arena;
    const char *name = recorded->name;
    size_t n = c->analysis.n_findings;
    *same = same_bytes(recorded, c);
    if (*same) {
        text_addf(&v->said, "%s: the same, byte for byte (%s computed again with plateau %s)\n",
                  name, counted(a, n, "study", "studies"), PLATEAU_VERSION);
        return ERR_NONE;
    }
    const struct record_bytes now = {"the record made now", c->record.s, c->record.length};
    struct record_differences d;
    TRY(report_record_compare(a, recorded, &now, &d, e));
    *same = d.n == 0;
    if (*same && d.rounding > 0)
        text_addf(
            &v->said,
            "%s: the same findings to ten digits (%s computed again with plateau %s; %s by one "
            "unit in the tenth digit)\n",
            name, counted(a, n, "study", "studies"), PLATEAU_VERSION,
            counted(a, d.rounding, "number differs", "numbers differ"));
    else if (*same)
        text_addf(&v->said, "%s: the same content, laid out differently\n", name);
    else
        text_addf(&v->said, "%s: %s (computed again with plateau %s)\n", name,
                  counted(a, d.n, "value differs", "values differ"), PLATEAU_VERSION);
    if (only_inputs_differ(&d))
        text_add(&v->said,
                 "no finding differs: only the files themselves and how they were read\n");
    list_differences(v, &d);
    return ERR_NONE;
}

/* ---- what lies beside the record --------------------------------------------------------------
 */

/* The record's own name: only record.json is what a page beside it speaks of. */
static bool is_named_record(const char *path)
{
    const char *slash = strrchr(path, '/');
    return strcmp(slash != NULL ? slash + 1 : path, RECORD_NAME) == 0;
}

static void add_name(struct text *names, const char *name)
{
    text_addf(names, "%s%s", names->length > 0 ? ", " : "", name);
}

/* Page and figures, as far as they are there: a record may be kept alone. Adds the names of those
 * that the record gives with other bytes, or not at all, to `other`; counts the rest. */
static enum errc compare_files(struct verification *v, const struct computed *c, struct text *other,
                               size_t *same, struct error *e)
{
    struct arena *a = v->inv->arena;
    struct output_file *files = NULL;
    size_t n = cli_report_files(a, c, &files);
    const char *folder = parent_of(a, v->inv->argument);
    for (size_t i = 0; i < n; i++) {
        struct whole_file file;
        const char *path = path_join(a, folder, files[i].name);
        if (strcmp(files[i].name, RECORD_NAME) == 0 || access(path, F_OK) != 0)
            continue;
        TRY(read_whole_file(a, path, &file, e));
        if (file.n == files[i].n && memcmp(file.bytes, files[i].bytes, file.n) == 0)
            ++*same;
        else
            add_name(other, files[i].name);
    }
    size_t n_old;
    const char **old = output_old_figures(a, folder, files, n, &n_old);
    for (size_t i = 0; i < n_old; i++)
        add_name(other, old[i]);
    return ERR_NONE;
}

/* Of a record that came out the same, byte for byte. *good: nothing beside it differs. */
static enum errc compare_report(struct verification *v, const struct computed *c, bool *good,
                                struct error *e)
{
    struct text other;
    size_t same = 0;
    text_init(&other, v->inv->arena);
    TRY(compare_files(v, c, &other, &same, e));
    *good = other.length == 0;
    if (!*good)
        text_addf(&v->said,
                  "beside it, not as this record gives it: %s (of another analysis, or edited). "
                  "Analyze the trial again before you use the report\n",
                  other.s);
    else if (same > 0)
        text_addf(&v->said, "page and figures beside it are those of this record (%s)\n",
                  counted(v->inv->arena, same, "file", "files"));
    return ERR_NONE;
}

/* Reads the trial at `path`, computes it, compares. *status: the exit status. */
static enum errc recompute(struct verification *v, const char *path,
                           const struct record_bytes *recorded, const struct premises *premises,
                           int *status, struct error *e)
{
    struct loaded l;
    struct computed c;
    bool same = false, whole = true;
    struct input_changes changes = {0};
    struct error unread = {.code = ERR_NONE};
    if (cli_load_path(v->inv, path, &l, &unread) != ERR_NONE && unread.code != ERR_READ) {
        *e = unread;
        return unread.code;
    }
    if (premises != NULL)
        changes = compare_inputs(v, premises, &l.premises);
    if (changes.missing > 0) {
        say_where_inputs_are_sought(v, path, &changes);
        *status = error_exit_status(ERR_INPUT);
        return ERR_NONE;
    }
    if (unread.code != ERR_NONE) {
        *e = unread;
        return unread.code;
    }
    if (l.diags.errors > 0) {
        cli_say_problems(v->inv, &l.diags, true);
        *status = error_exit_status(ERR_INPUT);
        return ERR_NONE;
    }
    TRY(cli_compute(v->inv->arena, &l, &c, e));
    TRY(compare_records(v, recorded, &c, &same, e));
    if (premises != NULL && same_bytes(recorded, &c) && is_named_record(v->inv->argument))
        TRY(compare_report(v, &c, &whole, e));
    *status = same && whole && changes.changed == 0 ? 0 : 1;
    return ERR_NONE;
}

static enum errc verify_self(struct verification *v, int *status, struct error *e)
{
    const char *folder = NULL;
    const struct record_bytes recorded = self_record();
    enum errc failed = self_trial_write(v->inv->arena, &folder, e);
    if (failed == ERR_NONE)
        failed = recompute(v, folder, &recorded, NULL, status, e);
    self_trial_remove(v->inv->arena, folder);
    return failed;
}

static enum errc verify_record(struct verification *v, int *status, struct error *e)
{
    struct arena *a = v->inv->arena;
    struct whole_file file;
    struct analysis then;
    const char *name = cli_quote(a, v->inv->argument);
    TRY(read_whole_file(a, v->inv->argument, &file, e));
    TRY(report_record_read(a, name, file.bytes, file.n, &then, e));
    const struct record_bytes recorded = {name, file.bytes, file.n};
    return recompute(v, trial_of(v, then.premises), &recorded, then.premises, status, e);
}

static enum errc run_verify(struct verification *v, int *status, struct error *e)
{
    bool self = options_value(v->inv, "--self") != NULL;
    if (self && v->inv->argument != NULL)
        return ERR_SET(e, ERR_USAGE, "--self takes no record: it uses the built-in trial");
    if (!self && v->inv->argument == NULL)
        return ERR_SET(e, ERR_USAGE, "verify needs RECORD or --self; usage: %s",
                       command_usage(v->inv->arena, v->inv->command));
    return self ? verify_self(v, status, e) : verify_record(v, status, e);
}

int command_verify(struct invocation *inv)
{
    struct verification v = {.inv = inv, .quiet = options_value(inv, "--quiet") != NULL};
    struct error e = {.code = ERR_NONE};
    int status = 0;
    text_init(&v.said, inv->arena);
    if (run_verify(&v, &status, &e) != ERR_NONE)
        return cli_fail(inv, &e);
    if (!v.quiet)
        cli_print(inv, &v.said);
    return status;
}
