/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A whole trial: which files there are, in an order that no disk decides, each read once into
 * memory, each parsed from the bytes whose digest is kept.
 */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "ini.h"
#include "limits.h"
#include "table.h"
#include "table_join.h"
#include "trial_files.h"

static const char ini_name[] = "trial.ini";

/* One file of one study. */
struct file {
    const struct study_input *study;
    const char *path; /* relative to the folder */
    const char *name; /* the same, harmless */
    long ini_line;    /* of [studies], 0: found by its name */
    struct trial_bytes bytes;
    enum table_decimal_answer decimal;
};

struct loader {
    struct arena *arena;
    const struct read_request *request;
    struct trial *out;
    struct diag_list *diags;
    const char **names; /* in the folder */
    size_t n_names;
    struct file *files;
    size_t n_files, cap_files;
    size_t cap_tables, cap_refused;
    bool *torn; /* per study of the request: its file cannot be used, and that was told */
};

static const char *harmless(struct loader *l, const char *s)
{
    return text_harmless(l->arena, s, strlen(s));
}

static void tell(struct loader *l, enum severity severity, const char *code, const char *file,
                 long line, const char *column, const char *message, const char *expected,
                 const char *remedy)
{
    struct diag_place place = {.line = line};
    struct diag d = {.severity = severity,
                     .code = code,
                     .file = file,
                     .column = column,
                     .message = message,
                     .expected = expected,
                     .remedy = remedy};
    diag_add(l->diags, &d, line > 0 ? &place : NULL);
}

static bool is_csv(const char *extension)
{
    return text_same_word(extension, ".csv");
}

/* ---- trial.ini --------------------------------------------------------------------------------
 */

/* The name of trial.ini in the folder: as it should be, else in another letter case; or NULL. */
static const char *find_ini(const struct loader *l)
{
    const char *other = NULL;
    for (size_t i = 0; i < l->n_names; i++) {
        if (strcmp(l->names[i], ini_name) == 0)
            return l->names[i];
        if (other == NULL && text_same_word(l->names[i], ini_name))
            other = l->names[i];
    }
    return other;
}

static enum errc load_ini(struct loader *l, struct error *e)
{
    struct trial *t = l->out;
    struct trial_bytes b;
    const char *name = find_ini(l);
    t->facts = (struct facts){.file = NULL};
    if (name == NULL) {
        ini_default_facts(l->arena, l->request, &t->facts);
        return ERR_NONE;
    }
    const char *trouble = trial_path_trouble(l->arena, t->folder, name);
    if (trouble == NULL)
        trouble = trial_read_file(l->arena, trial_join_path(l->arena, t->folder, name),
                                  TRIAL_INI_MAX, &b);
    if (trouble != NULL) {
        tell(l, DIAG_ERROR, "cannot-read", name, 0, NULL,
             arena_printf(l->arena, "cannot read %s: %s", name, trouble), NULL,
             "mend the file, or take it out of the folder");
        ini_default_facts(l->arena, l->request, &t->facts);
        return ERR_NONE;
    }
    memcpy(t->ini_sha256, b.sha256, sizeof t->ini_sha256);
    t->ini_bytes = b.n;
    return facts_load_bytes(l->arena, name, b.bytes, b.n, l->request, &t->facts, l->diags, e);
}

/* ---- which files ------------------------------------------------------------------------------
 */

static void add_file(struct loader *l, const struct study_input *s, const char *path, long ini_line)
{
    struct file *f = ARENA_PUSH(l->arena, l->files, l->n_files, l->cap_files);
    *f = (struct file){.study = s, .path = path, .name = harmless(l, path), .ini_line = ini_line};
}

static void add_listed_files(struct loader *l, const struct study_input *s, const struct fact *f)
{
    size_t n;
    const char **paths = ini_split_list(l->arena, f->text, &n);
    for (size_t i = 0; i < n; i++)
        add_file(l, s, paths[i], f->line);
}

/* The file named after the study. Two of them (`clamp.csv`, `Clamp.CSV`) are refused: nothing says
 * which one is meant, or that both are. */
static void add_named_file(struct loader *l, const struct study_input *s)
{
    const char *first = NULL, *extension;
    for (size_t i = 0; i < l->n_names; i++) {
        const char *stem = trial_stem(l->arena, l->names[i], &extension);
        if (!is_csv(extension) || !ini_same_name(stem, s->name))
            continue;
        if (first != NULL) {
            tell(l, DIAG_ERROR, "two-files-for-study", harmless(l, l->names[i]), 0, NULL,
                 arena_printf(l->arena, "`%s` is a file of the study %s too", harmless(l, first),
                              s->name),
                 NULL,
                 arena_printf(l->arena,
                              "rename one, or list the files under [studies]: `%s = %s ; %s`",
                              s->name, harmless(l, first), harmless(l, l->names[i])));
            l->torn[s - l->request->studies] = true;
            return;
        }
        first = l->names[i];
    }
    if (first != NULL)
        add_file(l, s, first, 0);
}

static void find_files(struct loader *l)
{
    l->torn = ARENA_ARRAY(l->arena, bool, l->request->n_studies);
    for (size_t i = 0; i < l->request->n_studies; i++) {
        const struct study_input *s = &l->request->studies[i];
        const struct fact *f = facts_find(&l->out->facts, "studies", s->name);
        if (f != NULL)
            add_listed_files(l, s, f);
        else
            add_named_file(l, s);
    }
}

static bool is_used(const struct loader *l, const char *name)
{
    for (size_t i = 0; i < l->n_files; i++) {
        const char *path = l->files[i].path;
        while (strncmp(path, "./", 2) == 0)
            path += 2;
        if (strcmp(path, name) == 0)
            return true;
    }
    return false;
}

/* The study that a name begins with: `gate-freeze (1)`, `gate-freeze - Copy`, `gate_freeze old`. */
static const struct study_input *study_in_front(const struct loader *l, const char *stem)
{
    const struct read_request *q = l->request;
    for (size_t n = strlen(stem); n > 0; n--) {
        char next = stem[n];
        bool letter = (next >= 'a' && next <= 'z') || (next >= 'A' && next <= 'Z');
        const struct study_input *s = letter ? NULL : ini_study_find(q, stem, n);
        if (s != NULL)
            return s;
    }
    return NULL;
}

static const char *file_of(const struct loader *l, const struct study_input *s)
{
    for (size_t i = 0; i < l->n_files; i++)
        if (l->files[i].study == s)
            return l->files[i].name;
    return NULL;
}

/* What to do with a file that may belong to a study. */
static const char *how_to_read(struct loader *l, const char *shown, const struct study_input *s)
{
    const char *other = file_of(l, s);
    if (other != NULL)
        return arena_printf(l->arena,
                            "if both belong to %s, say under [studies] in trial.ini: %s = %s ; %s",
                            s->name, s->name, other, shown);
    return arena_printf(l->arena, "if it belongs to %s, rename it `%s.csv`", s->name, s->name);
}

/* Says of a CSV file that nobody reads why that is so. */
static void explain_unread(struct loader *l, const char *name, const char *stem)
{
    const struct read_request *q = l->request;
    const char *shown = harmless(l, name);
    const char **words = ARENA_ARRAY(l->arena, const char *, q->n_studies);
    for (size_t i = 0; i < q->n_studies; i++)
        words[i] = q->studies[i].name;
    const char *near = text_nearest(stem, words, q->n_studies);
    const struct study_input *own = ini_study_find(q, stem, strlen(stem));
    const struct study_input *front = study_in_front(l, stem);
    bool torn = front != NULL && l->torn[front - q->studies];
    if (own != NULL && torn) /* told already */
        return;
    if (own != NULL) {
        tell(l, DIAG_NOTE, "file-not-read", shown, 0, NULL,
             arena_printf(l->arena, "not read: [studies] names other files for %s", own->name),
             NULL, arena_printf(l->arena, "list it under [studies] too if it belongs to them"));
    } else if (ini_is_study_word(stem)) {
        tell(l, DIAG_NOTE, "study-not-in-this-version", shown, 0, NULL,
             arena_printf(l->arena, "not read: this version has no study `%s`", harmless(l, stem)),
             arena_printf(l->arena, "one of its studies: %s", ini_study_list(l->arena, q)), NULL);
    } else {
        tell(l, DIAG_NOTE, "file-not-read", shown, 0, NULL, "not read: no study has this name",
             arena_printf(l->arena, "one of: %s", ini_study_list(l->arena, q)),
             torn            ? "name it under [studies] too if it belongs to them"
             : front != NULL ? how_to_read(l, shown, front)
             : near != NULL  ? arena_printf(l->arena, "did you mean `%s.csv`?", near)
                             : "name it under [studies] if it belongs to a study");
    }
}

/* Whether the readings of a study may stand in another file than those that are read: it has no
 * CSV file, or (once they are read) none with a reading. */
static bool lacks_readings(const struct loader *l, const struct study_input *s)
{
    const struct trial *t = l->out;
    if (l->torn[s - l->request->studies])
        return false;
    for (size_t i = 0; i < t->n_refused; i++)
        if (strcmp(t->refused[i].study, s->name) == 0)
            return false;
    for (size_t i = 0; i < t->n_tables; i++)
        if (strcmp(t->tables[i].study, s->name) == 0 && table_has_readings(&t->tables[i]))
            return false;
    return true;
}

/* A workbook, or a table of text with another ending, that has the name of a study whose readings
 * are nowhere else: likely those that were meant. Systems that hide endings make `x.csv.txt`; a
 * table that was opened as CSV and saved as a workbook leaves the blank one behind. */
static void explain_other_ending(struct loader *l, const char *name)
{
    static const char *const workbooks[] = {".xlsx", ".xlsm", ".xls", ".ods", ".numbers"};
    static const char *const texts[] = {".txt", ".tsv", ".tab", ".dat", ".prn"};
    const char *extension, *more;
    const char *stem = trial_stem(l->arena, name, &extension);
    bool workbook = false, text = false;
    for (size_t i = 0; i < PL_COUNT(workbooks); i++) {
        workbook = workbook || text_same_word(extension, workbooks[i]);
        text = text || text_same_word(extension, texts[i]);
    }
    const char *inner = trial_stem(l->arena, stem, &more);
    stem = is_csv(more) ? inner : stem;
    const struct study_input *s = ini_study_find(l->request, stem, strlen(stem));
    if ((!workbook && !text) || s == NULL || !lacks_readings(l, s))
        return;
    const char *csv = file_of(l, s);
    const char *which = csv == NULL ? arena_printf(l->arena, "there is none for %s", s->name)
                                    : arena_printf(l->arena, "%s holds no readings", csv);
    const char *target = csv == NULL ? arena_printf(l->arena, "%s.csv", s->name) : csv;
    tell(l, DIAG_WARNING, "not-a-csv-file", harmless(l, name), 0, NULL,
         arena_printf(l->arena, "not read: only files whose name ends in .csv are, and %s", which),
         NULL,
         arena_printf(l->arena,
                      workbook ? "Open it in the program it belongs to and save the sheet as CSV "
                                 "(UTF-8) under the name `%s`%s."
                               : "Rename it `%s`%s; what stands between its cells does not "
                                 "matter.",
                      target, csv == NULL ? "" : ", over the one without readings"));
}

/* Once every table is read. */
static void list_other_endings(struct loader *l)
{
    for (size_t i = 0; i < l->n_names; i++) {
        const char *extension;
        trial_stem(l->arena, l->names[i], &extension);
        if (!is_csv(extension))
            explain_other_ending(l, l->names[i]);
    }
}

static void list_unread(struct loader *l)
{
    struct trial *t = l->out;
    size_t capacity = 0;
    for (size_t i = 0; i < l->n_names; i++) {
        const char *extension, *stem = trial_stem(l->arena, l->names[i], &extension);
        if (!is_csv(extension) || is_used(l, l->names[i]))
            continue;
        *ARENA_PUSH(l->arena, t->unread, t->n_unread, capacity) = harmless(l, l->names[i]);
        if (t->n_unread <= LIMIT_UNREAD_EXPLAINED)
            explain_unread(l, l->names[i], stem);
    }
    if (t->n_unread > LIMIT_UNREAD_EXPLAINED)
        tell(l, DIAG_NOTE, "file-not-read", "trial folder", 0, NULL,
             arena_printf(l->arena, "%zu more CSV files are not read",
                          t->n_unread - LIMIT_UNREAD_EXPLAINED),
             NULL, "is this the folder of one trial?");
}

/* ---- reading ----------------------------------------------------------------------------------
 */

/* False, with a message, when the file cannot be had. */
static bool fetch_file(struct loader *l, struct file *f)
{
    const char *ini = l->out->facts.file;
    const char *trouble = trial_path_trouble(l->arena, l->out->folder, f->path);
    if (trouble != NULL) {
        tell(l, DIAG_ERROR, "path-outside", f->ini_line > 0 ? ini : f->name, f->ini_line,
             f->ini_line > 0 ? f->name : NULL,
             arena_printf(l->arena, "`%s` is not read: %s", f->name, trouble),
             "a file inside the trial folder, named from there",
             "copy the file into the trial folder");
        return false;
    }
    trouble = trial_read_file(l->arena, trial_join_path(l->arena, l->out->folder, f->path),
                              LIMIT_FILE_BYTES, &f->bytes);
    if (trouble != NULL) {
        tell(l, DIAG_ERROR, "cannot-read", f->name, 0, NULL,
             arena_printf(l->arena, "cannot read the file: %s", trouble), NULL,
             f->ini_line > 0
                 ? arena_printf(l->arena,
                                "put the file into the folder, or correct line %ld of %s, which "
                                "names it as a file of %s",
                                f->ini_line, ini, f->study->name)
                 : "mend the file, or take it out of the folder");
        return false;
    }
    return true;
}

/* The mark that all files agree on that settle theirs; false when none does or they differ. */
static bool find_hint(struct loader *l, struct table_hint *hint)
{
    bool wanted = false;
    *hint = (struct table_hint){.file = NULL};
    for (size_t i = 0; i < l->n_files; i++) {
        struct file *f = &l->files[i];
        struct arena *scratch = arena_new();
        f->decimal =
            table_decimal(scratch, f->name, f->bytes.bytes, f->bytes.n, f->study, &l->out->facts);
        arena_free(scratch);
        wanted |= f->decimal == TABLE_DECIMAL_EITHER;
        bool comma = f->decimal == TABLE_DECIMAL_COMMA;
        if (!comma && f->decimal != TABLE_DECIMAL_POINT)
            continue;
        enum decimal_mark mark = comma ? MARK_COMMA : MARK_POINT;
        if (hint->file != NULL && hint->mark != mark)
            return false;
        *hint = (struct table_hint){mark, hint->file != NULL ? hint->file : f->name};
    }
    return wanted && hint->file != NULL;
}

/* Errors so far, each place counted: a file that two studies read can add to an error it has. */
static size_t errors_told(const struct diag_list *d)
{
    size_t n = d->errors;
    for (size_t i = 0; i < d->n; i++)
        if (d->items[i].severity == DIAG_ERROR)
            n += d->items[i].count;
    return n;
}

/* The files of one study as one table. With an error in any of them it is kept for people to look
 * at, and no number of it gets out. */
static enum errc load_study(struct loader *l, const struct study_input *s,
                            const struct table_hint *hint, struct error *e)
{
    struct trial *t = l->out;
    struct table *parts = ARENA_ARRAY(l->arena, struct table, l->n_files);
    size_t n = 0;
    bool refused = false;
    for (size_t i = 0; i < l->n_files; i++) {
        const struct file *f = &l->files[i];
        size_t errors = errors_told(l->diags);
        if (f->study != s)
            continue;
        struct table *part = &parts[n];
        TRY(table_read(l->arena, f->name, f->bytes.bytes, f->bytes.n, s, &t->facts,
                       f->decimal == TABLE_DECIMAL_EITHER ? hint : NULL, part, l->diags, e));
        refused = refused || errors_told(l->diags) > errors;
        for (size_t k = 0; k < part->n_sources; k++) {
            memcpy(part->sources[k].sha256, f->bytes.sha256, sizeof part->sources[k].sha256);
            part->sources[k].bytes = f->bytes.n;
        }
        n++;
    }
    if (n == 0)
        return ERR_NONE;
    struct table whole;
    size_t errors = errors_told(l->diags);
    table_join(l->arena, parts, n, &whole, l->diags);
    if (refused || errors_told(l->diags) > errors)
        *ARENA_PUSH(l->arena, t->refused, t->n_refused, l->cap_refused) = whole;
    else
        *ARENA_PUSH(l->arena, t->tables, t->n_tables, l->cap_tables) = whole;
    return ERR_NONE;
}

static enum errc load_files(struct loader *l, struct error *e)
{
    size_t kept = 0;
    for (size_t i = 0; i < l->n_files; i++)
        if (fetch_file(l, &l->files[i]))
            l->files[kept++] = l->files[i];
        else
            l->torn[l->files[i].study - l->request->studies] = true;
    l->n_files = kept;
    struct table_hint hint;
    bool hinted = kept > 1 && find_hint(l, &hint);
    for (size_t i = 0; i < l->request->n_studies; i++)
        TRY(load_study(l, &l->request->studies[i], hinted ? &hint : NULL, e));
    return ERR_NONE;
}

/* ---- folder or single file --------------------------------------------------------------------
 */

static enum errc load_folder(struct loader *l, const char *path, struct error *e)
{
    l->out->folder = arena_copy(l->arena, path);
    TRY(trial_list_folder(l->arena, path, &l->names, &l->n_names, e));
    TRY(load_ini(l, e));
    find_files(l);
    list_unread(l);
    bool torn = false;
    for (size_t i = 0; i < l->request->n_studies; i++)
        torn = torn || l->torn[i];
    if (l->n_files == 0 && !torn)
        tell(l, DIAG_ERROR, "no-study-files", harmless(l, path), 0, NULL,
             "no file in this folder is named after a study",
             arena_printf(l->arena, "files such as %s.csv; the studies are: %s",
                          l->request->n_studies > 0 ? l->request->studies[0].name : "",
                          ini_study_list(l->arena, l->request)),
             "name each file after its study, or list the files under [studies] in trial.ini");
    TRY(load_files(l, e));
    list_other_endings(l);
    return ERR_NONE;
}

static enum errc load_single(struct loader *l, const char *path, struct error *e)
{
    const char *extension, *stem = trial_stem(l->arena, path, &extension);
    const struct study_input *s = ini_study_find(l->request, stem, strlen(stem));
    const char *shown = harmless(l, stem);
    if (s == NULL)
        return ERR_AT(e, ERR_INPUT, path, 0,
                      ini_is_study_word(stem)
                          ? "this version has no study `%s`; it has: %s"
                          : "`%s` is not the name of a study; name the file after one of: %s",
                      shown, ini_study_list(l->arena, l->request));
    const char *slash = strrchr(path, '/');
    l->out->folder = "";
    l->out->single_file = true;
    ini_default_facts(l->arena, l->request, &l->out->facts);
    add_file(l, s, slash != NULL ? slash + 1 : path, 0);
    const char *trouble = trial_read_file(l->arena, path, LIMIT_FILE_BYTES, &l->files[0].bytes);
    if (trouble != NULL)
        return ERR_AT(e, ERR_READ, path, 0, "cannot read the file: %s", trouble);
    return load_study(l, s, NULL, e);
}

enum errc trial_load(struct arena *a, const char *path, const struct read_request *request,
                     struct trial *out, struct diag_list *diags, struct error *e)
{
    struct loader l = {.arena = a, .request = request, .out = out, .diags = diags};
    struct stat st;
    *out = (struct trial){.path = arena_copy(a, path)};
    if (stat(path, &st) != 0)
        return ERR_AT(e, ERR_READ, path, 0, "cannot open: %s", trial_reason(a, errno));
    TRY(S_ISDIR(st.st_mode) ? load_folder(&l, path, e) : load_single(&l, path, e));
    trial_fill_display(a, out);
    return ERR_NONE;
}
