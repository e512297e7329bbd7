/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whole trials in temporary folders: which files are read, which are refused, what is told.
 */
#define _XOPEN_SOURCE 700 /* mkdtemp, nftw */
#include <ftw.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "near.h"
#include "read/limits.h"
#include "read/trial_files.h"

static const struct column_spec gate_columns[] = {
    {"hold_time", "pack time", DIM_TIME, COLUMN_REQUIRED | COLUMN_SETTING, 0.0, 600.0, "hold time"},
    {"weight", "part weight", DIM_MASS, COLUMN_REQUIRED | COLUMN_PER_CAVITY, 1e-4, 1e6, "weight"},
};
static const struct column_spec viscosity_columns[] = {
    {"fill_time", "", DIM_TIME, COLUMN_REQUIRED, 1e-3, 600.0, "fill time"},
    {"injection_speed", "", DIM_SPEED, 0, 0.0, 5000.0, "injection speed"},
};
static const struct study_input studies[] = {
    {"gate-freeze", gate_columns, PL_COUNT(gate_columns)},
    {"viscosity", viscosity_columns, PL_COUNT(viscosity_columns)},
};
static const struct criterion_spec criteria[] = {
    {"freeze_tolerance", DIM_MASS, NAN, 0.001, 'O', "0.1 % of the plateau weight", ""},
};
static const struct read_request request = {studies, PL_COUNT(studies), criteria,
                                            PL_COUNT(criteria)};

static const char gate_csv[] = "hold_time [s],weight [g]\n1,10.1\n2,10.2\n3,10.3\n";
/* sha256sum of the bytes above */
static const char gate_sha256[] =
    "b6748f619d93d654de50179157eb55def58fe1e1d28984024f852b476600acd1";
static const char viscosity_csv[] = "fill_time [s],injection_speed [mm/s]\n0.8,60\n0.4,120\n";

/* ---- a folder, and what is loaded from it ------------------------------------------------------
 */

struct bench {
    char folder[256];
    struct arena *arena;
    struct trial trial;
    struct diag_list diags;
    struct error error;
    enum errc code;
};

static int set_up(void **state)
{
    struct bench *b = calloc(1, sizeof *b);
    const char *where = getenv("TMPDIR");
    snprintf(b->folder, sizeof b->folder, "%s/plateau-test-XXXXXX",
             where != NULL ? where : P_tmpdir);
    *state = b;
    b->arena = arena_new();
    return mkdtemp(b->folder) != NULL ? 0 : -1;
}

static int remove_one(const char *path, const struct stat *st, int type, struct FTW *where)
{
    (void)st;
    (void)type;
    (void)where;
    return remove(path);
}

static int tear_down(void **state)
{
    struct bench *b = *state;
    arena_free(b->arena);
    int failed = nftw(b->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    free(b);
    return failed;
}

static const char *in_folder(struct bench *b, const char *name)
{
    return trial_join_path(b->arena, b->folder, name);
}

static void put_bytes(struct bench *b, const char *name, const void *bytes, size_t n)
{
    FILE *f = fopen(in_folder(b, name), "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, n, f), n);
    assert_int_equal(fclose(f), 0);
}

static void put(struct bench *b, const char *name, const char *content)
{
    put_bytes(b, name, content, strlen(content));
}

static void make_folder(struct bench *b, const char *name)
{
    assert_int_equal(mkdir(in_folder(b, name), 0777), 0);
}

static void load_path(struct bench *b, const char *path)
{
    diag_init(&b->diags, b->arena);
    b->error = (struct error){0};
    b->code = trial_load(b->arena, path, &request, &b->trial, &b->diags, &b->error);
}

static void load(struct bench *b)
{
    load_path(b, b->folder);
    assert_int_equal(b->code, ERR_NONE);
}

static void show(const struct bench *b)
{
    for (size_t i = 0; i < b->diags.n; i++)
        print_error("  %s:%ld %s: %s | %s | %s\n", b->diags.items[i].file,
                    b->diags.items[i].places[0].line, b->diags.items[i].code,
                    b->diags.items[i].message, b->diags.items[i].expected,
                    b->diags.items[i].remedy);
}

static const struct diag *find_code(const struct bench *b, const char *code)
{
    for (size_t i = 0; i < b->diags.n; i++)
        if (strcmp(b->diags.items[i].code, code) == 0)
            return &b->diags.items[i];
    show(b);
    return NULL;
}

static void assert_clean(const struct bench *b)
{
    if (b->diags.errors > 0)
        show(b);
    assert_int_equal(b->diags.errors, 0);
}

/* One error, of this code, naming this file, with this text in it. */
static void assert_one_error(const struct bench *b, const char *code, const char *file,
                             const char *text)
{
    const struct diag *d = find_code(b, code);
    assert_non_null(d);
    assert_int_equal(b->diags.errors, 1);
    assert_int_equal(d->severity, DIAG_ERROR);
    assert_string_equal(d->file, file);
    if (strstr(d->message, text) == NULL)
        show(b);
    assert_non_null(strstr(d->message, text));
}

/* ---- folders that are read ----------------------------------------------------------------------
 */

static void folder_is_read(void **state)
{
    struct bench *b = *state;
    put(b, "viscosity.csv", viscosity_csv);
    put(b, "gate-freeze.csv", gate_csv);
    put(b, "trial.ini", "[trial]\nmold = M-1\n");
    load(b);
    assert_clean(b);
    assert_int_equal(b->diags.n, 0);
    assert_false(b->trial.single_file);
    assert_string_equal(b->trial.folder, b->folder);
    assert_string_equal(b->trial.path, b->folder);
    assert_int_equal(b->trial.n_tables, 2);
    assert_string_equal(b->trial.tables[0].study, "gate-freeze");
    assert_string_equal(b->trial.tables[1].study, "viscosity");
    assert_int_equal(b->trial.tables[0].n_rows, 3);
    assert_int_equal(b->trial.tables[0].n_sources, 1);
    const struct source *s = &b->trial.tables[0].sources[0];
    assert_string_equal(s->name, "gate-freeze.csv");
    assert_string_equal(s->sha256, gate_sha256);
    assert_int_equal(s->bytes, sizeof gate_csv - 1);
    assert_string_equal(b->trial.ini_sha256,
                        "75a6797395d13aa71b8eddd3fad6d8aeedfdec2707317f8627394b29b902fee1");
    assert_int_equal(b->trial.ini_bytes, 19);
    assert_string_equal(b->trial.facts.file, "trial.ini");
    assert_string_equal(facts_text(&b->trial.facts, "trial", "mold"), "M-1");
    assert_int_equal(b->trial.n_unread, 0);
}

static void folder_without_ini_has_defaults(void **state)
{
    struct bench *b = *state;
    put(b, "gate-freeze.csv", gate_csv);
    load_path(b, arena_printf(b->arena, "%s/", b->folder));
    assert_int_equal(b->code, ERR_NONE);
    assert_clean(b);
    assert_null(b->trial.facts.file);
    assert_string_equal(b->trial.ini_sha256, "");
    assert_int_equal(b->trial.facts.n, 1);
    assert_false(b->trial.facts.items[0].given);
    assert_int_equal(b->trial.n_tables, 1);
}

static void names_are_found_in_any_case(void **state)
{
    struct bench *b = *state;
    put(b, "Gate_Freeze.CSV", gate_csv);
    put(b, "Trial.INI", "[trial]\nmold = M-1\n");
    load(b);
    assert_clean(b);
    assert_int_equal(b->trial.n_tables, 1);
    assert_string_equal(b->trial.tables[0].sources[0].name, "Gate_Freeze.CSV");
    assert_string_equal(b->trial.facts.file, "Trial.INI");
}

static void files_are_listed_in_ini(void **state)
{
    struct bench *b = *state;
    make_folder(b, "saturday");
    put(b, "saturday/freeze mold 12.csv", gate_csv);
    put(b, "later.csv", "pack time [s],weight [g]\n4,10.4\n5,10.5\n");
    put(b, "gate-freeze.csv", "not,looked at\n");
    put(b, "trial.ini", "[studies]\ngate_freeze = saturday/freeze mold 12.csv ; ./later.csv\n");
    load(b);
    assert_clean(b);
    assert_int_equal(b->trial.n_tables, 1);
    assert_int_equal(b->trial.tables[0].n_sources, 2);
    assert_int_equal(b->trial.tables[0].n_rows, 5);
    assert_string_equal(b->trial.tables[0].sources[0].name, "saturday/freeze mold 12.csv");
    assert_string_equal(b->trial.tables[0].sources[0].sha256, gate_sha256);
    assert_int_equal(b->trial.n_unread, 1);
    assert_string_equal(b->trial.unread[0], "gate-freeze.csv");
    const struct diag *d = find_code(b, "file-not-read");
    assert_non_null(d);
    assert_int_equal(d->severity, DIAG_NOTE);
    assert_non_null(strstr(d->message, "[studies] names other files for gate-freeze"));
}

static void link_inside_is_read(void **state)
{
    struct bench *b = *state;
    put(b, "data.txt", gate_csv);
    assert_int_equal(symlink("data.txt", in_folder(b, "gate-freeze.csv")), 0);
    load(b);
    assert_clean(b);
    assert_int_equal(b->trial.n_tables, 1);
}

/* 9,123 g alone has two readings, and both could be a part; the other file of the trial settles it.
 */
static void other_file_settles_the_decimal_mark(void **state)
{
    struct bench *b = *state;
    static const char balance[] = "hold_time [s];weight [g]\n1;9,123\n2;9,456\n3;9,460\n";
    put(b, "gate-freeze.csv", balance);
    load(b);
    assert_int_equal(b->diags.errors, 1);
    assert_int_equal(b->trial.n_tables, 0);
    put(b, "viscosity.csv", "fill_time [s];injection_speed [mm/s]\n0,8;60\n0,4;120,5\n");
    load(b);
    assert_clean(b);
    assert_int_equal(b->trial.n_tables, 2);
    const struct table *t = &b->trial.tables[0];
    int weight = table_find(t, "weight", 0);
    assert_true(weight >= 0);
    assert_lre(t->rows[0].cells[weight].value, 9.123, 15);
    /* two files that differ settle nothing */
    put(b, "more.csv", "fill_time [s],injection_speed [mm/s]\n0.8,60\n0.4,120.5\n");
    put(b, "trial.ini", "[studies]\nviscosity = viscosity.csv ; more.csv\n");
    load(b);
    assert_int_equal(b->diags.errors, 1);
}

/* ---- CSV files that nobody reads ----------------------------------------------------------------
 */

static void unread_files_are_named(void **state)
{
    struct bench *b = *state;
    /* written in an order that is not theirs */
    put(b, "viscocity.csv", viscosity_csv);
    put(b, "notes.txt", "not a table\n");
    put(b, "gauge.csv", "part,operator\n");
    put(b, ".gate-freeze.csv", "hidden\n");
    put(b, "gate-freeze.csv", gate_csv);
    put(b, "a.csv", "x\n");
    load(b);
    assert_clean(b);
    assert_int_equal(b->trial.n_unread, 3);
    assert_string_equal(b->trial.unread[0], "a.csv");
    assert_string_equal(b->trial.unread[1], "gauge.csv");
    assert_string_equal(b->trial.unread[2], "viscocity.csv");
    assert_int_equal(b->diags.notes, 3);
    const struct diag *d = find_code(b, "study-not-in-this-version");
    assert_non_null(d);
    assert_string_equal(d->file, "gauge.csv");
    assert_non_null(strstr(d->message, "no study `gauge`"));
    assert_non_null(strstr(d->expected, "gate-freeze, viscosity"));
    assert_non_null(strstr(b->diags.items[2].remedy, "did you mean `viscosity.csv`?"));
}

static void empty_folder_is_an_error(void **state)
{
    struct bench *b = *state;
    load(b);
    assert_one_error(b, "no-study-files", b->folder, "no file in this folder");
    assert_int_equal(b->trial.n_tables, 0);
}

static void two_files_for_one_study_are_refused(void **state)
{
    struct bench *b = *state;
    put(b, "gate-freeze.csv", gate_csv);
    put(b, "Gate freeze.csv", gate_csv);
    load(b);
    const struct diag *d = find_code(b, "two-files-for-study");
    assert_non_null(d);
    assert_string_equal(d->file, "gate-freeze.csv");
    assert_non_null(strstr(d->message, "`Gate freeze.csv`"));
    assert_non_null(strstr(d->remedy, "gate-freeze = Gate freeze.csv ; gate-freeze.csv"));
    assert_int_equal(b->trial.n_tables, 0);
}

/* ---- paths that leave the folder ----------------------------------------------------------------
 */

static void leaving_paths_are_refused(void **state)
{
    struct bench *b = *state;
    static const struct {
        const char *path, *why;
    } cases[] = {
        {"../x.csv", "leaves the trial folder"},
        {"sub/../../x.csv", "leaves the trial folder"},
        {"sub/..", "leaves the trial folder"},
        {"/etc/hostname", "does not begin at the trial folder"},
        {"C:/trial/x.csv", "does not begin at the trial folder"},
        {"sub\\x.csv", "backslash"},
        {"out.csv", "link"},
        {"outside/hostname", "link"},
    };
    assert_int_equal(symlink("/etc/hostname", in_folder(b, "out.csv")), 0);
    assert_int_equal(symlink("/etc", in_folder(b, "outside")), 0);
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        put(b, "trial.ini", arena_printf(b->arena, "[studies]\ngate-freeze = %s\n", cases[i].path));
        load(b);
        assert_one_error(b, "path-outside", "trial.ini", cases[i].why);
        assert_int_equal(b->diags.items[b->diags.n - 1].places[0].line, 2);
        assert_int_equal(b->trial.n_tables, 0);
    }
    /* each bad path of one key is told */
    put(b, "trial.ini", "[studies]\ngate-freeze = ../a.csv ; ../b.csv\n");
    load(b);
    assert_int_equal(b->diags.errors, 2);
}

static void named_file_that_leads_outside_is_refused(void **state)
{
    struct bench *b = *state;
    assert_int_equal(symlink("/etc/hostname", in_folder(b, "gate-freeze.csv")), 0);
    load(b);
    assert_one_error(b, "path-outside", "gate-freeze.csv", "leads out of the trial folder");
}

static void neighbour_with_the_same_beginning_is_outside(void **state)
{
    struct bench *b = *state;
    make_folder(b, "trial");
    make_folder(b, "trial-2");
    put(b, "trial-2/x.csv", gate_csv);
    assert_int_equal(symlink("../trial-2/x.csv", in_folder(b, "trial/gate-freeze.csv")), 0);
    load_path(b, in_folder(b, "trial"));
    assert_one_error(b, "path-outside", "gate-freeze.csv", "leads out");
}

/* ---- files that cannot be read ------------------------------------------------------------------
 */

static void missing_file_is_named(void **state)
{
    struct bench *b = *state;
    put(b, "trial.ini", "[studies]\ngate-freeze = gone.csv\n");
    load(b);
    assert_one_error(b, "cannot-read", "gone.csv", "No such file");
    assert_non_null(strstr(find_code(b, "cannot-read")->remedy, "line 2 of trial.ini"));
}

static void folder_for_a_file_is_named(void **state)
{
    struct bench *b = *state;
    make_folder(b, "gate-freeze.csv");
    load(b);
    assert_one_error(b, "cannot-read", "gate-freeze.csv", "it is a folder");
    make_folder(b, "trial.ini");
    load(b);
    assert_int_equal(b->diags.errors, 2);
}

static void pipe_is_not_waited_for(void **state)
{
    struct bench *b = *state;
    assert_int_equal(mkfifo(in_folder(b, "gate-freeze.csv"), 0666), 0);
    load(b);
    assert_one_error(b, "cannot-read", "gate-freeze.csv", "not a regular file");
}

static void unreadable_file_is_named(void **state)
{
    struct bench *b = *state;
    if (geteuid() == 0)
        skip(); /* root may read everything */
    put(b, "gate-freeze.csv", gate_csv);
    assert_int_equal(chmod(in_folder(b, "gate-freeze.csv"), 0), 0);
    load(b);
    assert_one_error(b, "cannot-read", "gate-freeze.csv", "Permission denied");
}

static void files_are_bounded(void **state)
{
    struct bench *b = *state;
    put(b, "gate-freeze.csv", gate_csv);
    char *big = arena_alloc(b->arena, TRIAL_INI_MAX + 1);
    memset(big, '\n', TRIAL_INI_MAX + 1);
    put_bytes(b, "trial.ini", big, TRIAL_INI_MAX);
    load(b);
    assert_clean(b);
    put_bytes(b, "trial.ini", big, TRIAL_INI_MAX + 1);
    load(b);
    assert_one_error(b, "cannot-read", "trial.ini", "larger than 256 KiB");
    /* a table of more bytes than are read, all of them a hole in the file */
    assert_int_equal(truncate(in_folder(b, "gate-freeze.csv"), (off_t)LIMIT_FILE_BYTES + 1), 0);
    put(b, "trial.ini", "");
    load(b);
    assert_one_error(b, "cannot-read", "gate-freeze.csv", "larger than 1024 MiB");
}

static void problems_of_all_files_are_told(void **state)
{
    struct bench *b = *state;
    put(b, "trial.ini", "[mold]\ncavities = four\n");
    put(b, "gate-freeze.csv", "hold_time [s],weight [g]\n1,10.1\n2,heavy\n3,10.3\n");
    put(b, "viscosity.csv", "");
    load(b);
    bool ini = false, gate = false, viscosity = false;
    for (size_t i = 0; i < b->diags.n; i++) {
        bool error = b->diags.items[i].severity == DIAG_ERROR;
        ini |= error && strcmp(b->diags.items[i].file, "trial.ini") == 0;
        gate |= error && strcmp(b->diags.items[i].file, "gate-freeze.csv") == 0;
        viscosity |= error && strcmp(b->diags.items[i].file, "viscosity.csv") == 0;
    }
    if (!ini || !gate || !viscosity)
        show(b);
    assert_true(ini && gate && viscosity);
    assert_int_equal(b->trial.n_tables, 0);
}

static void strange_names_are_harmless(void **state)
{
    struct bench *b = *state;
    put(b, "gate-freeze.csv", gate_csv);
    put(b, "a\x1b[31m\xFF.csv", "x\n");
    load(b);
    assert_int_equal(b->trial.n_unread, 1);
    assert_string_equal(b->trial.unread[0], "a\\x1B[31m\\xFF.csv");
    assert_string_equal(find_code(b, "file-not-read")->file, "a\\x1B[31m\\xFF.csv");
}

/* What people forget in the folder, or save in another way than they think. */
static void names_that_are_nearly_right(void **state)
{
    static const struct {
        const char *name;
        enum severity severity;
        const char *code, *remedy;
    } cases[] = {
        {"gate-freeze.xlsx", DIAG_WARNING, "not-a-csv-file", "under the name `gate-freeze.csv`"},
        {"Gate Freeze.ODS", DIAG_WARNING, "not-a-csv-file", "under the name `gate-freeze.csv`"},
        {"viscosity.csv.txt", DIAG_NOTE, NULL, NULL},
        {"gate-freeze.csv.txt", DIAG_WARNING, "not-a-csv-file", "Rename it `gate-freeze.csv`"},
        {"gate-freeze.tsv", DIAG_WARNING, "not-a-csv-file", "Rename it `gate-freeze.csv`"},
        {"gate-freeze (1).csv", DIAG_NOTE, "file-not-read", "rename it `gate-freeze.csv`"},
        {"gate-freeze - Copy.csv", DIAG_NOTE, "file-not-read", "rename it `gate-freeze.csv`"},
        {"gatefreze.csv", DIAG_NOTE, "file-not-read", "did you mean `gate-freeze.csv`?"},
        {"readings.csv", DIAG_NOTE, "file-not-read", "name it under [studies]"},
        {"viscosity (2).csv", DIAG_NOTE, "file-not-read",
         "under [studies] in trial.ini: viscosity = viscosity.csv ; viscosity (2).csv"},
        /* beside viscosity.csv it is where that came from */
        {"viscosity.xlsx", DIAG_NOTE, NULL, NULL},
        {"picture of gate-freeze.png", DIAG_NOTE, NULL, NULL},
        {"gate-freeze.png", DIAG_NOTE, NULL, NULL},
    };
    struct bench *b = *state;
    put(b, "viscosity.csv", viscosity_csv);
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        put(b, cases[i].name, "PK");
        load(b);
        assert_int_equal(b->trial.n_tables, 1);
        assert_int_equal(b->diags.errors, 0);
        assert_int_equal(b->diags.n, cases[i].code != NULL);
        if (cases[i].code != NULL) {
            const struct diag *d = &b->diags.items[0];
            assert_string_equal(d->code, cases[i].code);
            assert_string_equal(d->file, cases[i].name);
            assert_int_equal(d->severity, cases[i].severity);
            assert_non_null(strstr(d->remedy, cases[i].remedy));
        }
        assert_int_equal(remove(in_folder(b, cases[i].name)), 0);
    }
}

/* ---- single files -------------------------------------------------------------------------------
 */

static void single_file_is_read(void **state)
{
    struct bench *b = *state;
    put(b, "Gate-Freeze.csv", gate_csv);
    put(b, "trial.ini", "[broken\n");
    load_path(b, in_folder(b, "Gate-Freeze.csv"));
    assert_int_equal(b->code, ERR_NONE);
    assert_int_equal(b->diags.n, 0); /* the trial.ini beside it is not read */
    assert_true(b->trial.single_file);
    assert_string_equal(b->trial.folder, "");
    assert_int_equal(b->trial.n_tables, 1);
    assert_string_equal(b->trial.tables[0].study, "gate-freeze");
    assert_string_equal(b->trial.tables[0].sources[0].name, "Gate-Freeze.csv");
    assert_string_equal(b->trial.tables[0].sources[0].sha256, gate_sha256);
    assert_null(b->trial.facts.file);
    assert_string_equal(b->trial.ini_sha256, "");
    assert_int_equal(b->trial.facts.n, 1);
}

static void single_file_of_no_study_is_refused(void **state)
{
    struct bench *b = *state;
    put(b, "data.csv", gate_csv);
    load_path(b, in_folder(b, "data.csv"));
    assert_int_equal(b->code, ERR_INPUT);
    assert_non_null(strstr(b->error.message, "`data` is not the name of a study"));
    assert_non_null(strstr(b->error.message, "gate-freeze, viscosity"));
    assert_non_null(strstr(b->error.file, "data.csv"));
    put(b, "gauge.csv", gate_csv);
    load_path(b, in_folder(b, "gauge.csv"));
    assert_int_equal(b->code, ERR_INPUT);
    assert_non_null(strstr(b->error.message, "this version has no study `gauge`"));
}

static void path_that_cannot_be_opened(void **state)
{
    struct bench *b = *state;
    load_path(b, in_folder(b, "gone"));
    assert_int_equal(b->code, ERR_READ);
    assert_non_null(strstr(b->error.message, "No such file"));
    assert_int_equal(mkfifo(in_folder(b, "viscosity.csv"), 0666), 0);
    load_path(b, in_folder(b, "viscosity.csv"));
    assert_int_equal(b->code, ERR_READ);
    assert_non_null(strstr(b->error.message, "not a regular file"));
    put(b, "gate-freeze.csv", gate_csv);
    load_path(b, in_folder(b, "gate-freeze.csv/x"));
    assert_int_equal(b->code, ERR_READ);
    assert_non_null(strstr(b->error.message, "Not a directory"));
}

static void folder_that_cannot_be_listed(void **state)
{
    struct bench *b = *state;
    const char **names;
    size_t n;
    struct error e = {0};
    put(b, "x", "");
    assert_int_equal(trial_list_folder(b->arena, in_folder(b, "x"), &names, &n, &e), ERR_READ);
    assert_non_null(strstr(e.message, "Not a directory"));
}

static void stems_are_cut(void **state)
{
    struct bench *b = *state;
    const char *extension;
    assert_string_equal(trial_stem(b->arena, "a/b.c/gate-freeze.csv", &extension), "gate-freeze");
    assert_string_equal(extension, ".csv");
    assert_string_equal(trial_stem(b->arena, "a.b/x", &extension), "x");
    assert_string_equal(extension, "");
    assert_string_equal(trial_stem(b->arena, ".csv", &extension), ".csv");
    assert_string_equal(trial_join_path(b->arena, "", "x"), "x");
    assert_string_equal(trial_join_path(b->arena, "a", "x"), "a/x");
    assert_string_equal(trial_join_path(b->arena, "a/", "x"), "a/x");
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(folder_is_read),
        TEST(folder_without_ini_has_defaults),
        TEST(names_are_found_in_any_case),
        TEST(files_are_listed_in_ini),
        TEST(link_inside_is_read),
        TEST(other_file_settles_the_decimal_mark),
        TEST(unread_files_are_named),
        TEST(empty_folder_is_an_error),
        TEST(two_files_for_one_study_are_refused),
        TEST(leaving_paths_are_refused),
        TEST(named_file_that_leads_outside_is_refused),
        TEST(neighbour_with_the_same_beginning_is_outside),
        TEST(missing_file_is_named),
        TEST(folder_for_a_file_is_named),
        TEST(pipe_is_not_waited_for),
        TEST(unreadable_file_is_named),
        TEST(files_are_bounded),
        TEST(problems_of_all_files_are_told),
        TEST(strange_names_are_harmless),
        TEST(names_that_are_nearly_right),
        TEST(single_file_is_read),
        TEST(single_file_of_no_study_is_refused),
        TEST(path_that_cannot_be_opened),
        TEST(folder_that_cannot_be_listed),
        TEST(stems_are_cut),
    };
    return cmocka_run_group_tests_name("trial", tests, NULL, NULL);
}
