/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of flags in docs/methods.md: every flag that the program can raise has a row with its
 * kind and the tests that provoke it, and these tests exist and name the flag. */
#include <stdio.h>
#include <string.h>

#include "arena_bench.h"
#include "near.h"
#include "plateau/read.h"
#include "plateau/study.h"
#include "plateau/window.h"

static const char *read_text(const char *path)
{
    struct whole_file f;
    struct error e = {.code = ERR_NONE};
    if (read_whole_file(arena, arena_printf(arena, "%s/%s", SOURCE_DIR, path), &f, &e) != ERR_NONE)
        fail_msg("%s: %s", path, e.message);
    return arena_printf(arena, "%.*s", (int)f.n, (const char *)f.bytes);
}

/* The row of a flag, up to the end of its line; NULL: there is none. */
static const char *row_of(const char *table, const char *code)
{
    const char *at = strstr(table, arena_printf(arena, "\n| `%s` |", code));
    if (at == NULL)
        return NULL;
    const char *end = strchr(at + 1, '\n');
    return arena_printf(arena, "%.*s", (int)(end - at - 1), at + 1);
}

/* "gate_freeze: flagged; cooling_flags: this, that" in the last cell: the functions stand in the
 * files, and the files name the flag. */
static void check_tests(const char *code, const char *row)
{
    char *cell =
        arena_copy(arena, strrchr(arena_printf(arena, "%.*s", (int)strlen(row) - 2, row), '|') + 1);
    size_t tests = 0;
    for (char *part = strtok(cell, ";"), *next; part != NULL; part = next) {
        char file[64], *rest = strchr(part, ':');
        next = strtok(NULL, ";");
        if (rest == NULL || sscanf(part, " %63[a-z_]", file) != 1)
            fail_msg("%s: \"%s\" is no test", code, part);
        const char *source = read_text(arena_printf(arena, "tests/unit/test_%s.c", file));
        if (strstr(source, arena_printf(arena, "\"%s\"", code)) == NULL)
            fail_msg("%s: test_%s.c does not name it", code, file);
        for (char *name = rest + 1; *name != '\0'; tests++) {
            name += strspn(name, " ,");
            size_t n = strcspn(name, " ,");
            bool a_function =
                strstr(source, arena_printf(arena, "%.*s(void **state)", (int)n, name)) != NULL;
            bool a_list = strstr(source, arena_printf(arena, " %.*s[]", (int)n, name)) != NULL;
            if (!a_function && !a_list)
                fail_msg("%s: test_%s.c has no %.*s", code, file, (int)n, name);
            name += n + strspn(name + n, " ,");
        }
    }
    if (tests == 0)
        fail_msg("%s: no test provokes it", code);
}

static void check_flags(const char *table, const struct flag_spec *flags, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const char *row = row_of(table, flags[i].code);
        if (row == NULL)
            fail_msg("%s has no row in the table of flags of docs/methods.md", flags[i].code);
        bool kind = strstr(row, "| suspicion |") != NULL || strstr(row, "| fact |") != NULL ||
                    strstr(row, "| result |") != NULL || strstr(row, "| scatter |") != NULL;
        if (!kind)
            fail_msg("%s has no kind", flags[i].code);
        check_tests(flags[i].code, row);
    }
}

static void every_flag_has_its_tests(void **state)
{
    (void)state;
    const char *table = strstr(read_text("docs/methods.md"), "\n## Flags\n");
    assert_non_null(table);
    size_t n, n_studies;
    const struct study *const *studies = study_all(&n_studies);
    for (size_t i = 0; i < n_studies; i++)
        check_flags(table, studies[i]->flags, studies[i]->n_flags);
    const struct flag_spec *flags = study_flags(&n);
    check_flags(table, flags, n);
    flags = finding_flags(&n);
    check_flags(table, flags, n);
    flags = window_flags(&n);
    check_flags(table, flags, n);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_flag_has_its_tests, setup, teardown),
    };
    return cmocka_run_group_tests_name("flag-table", tests, NULL, NULL);
}
