/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A record read back. What is accepted can be written again, and the record that comes out is
 * read as the same; what is refused is refused with a line of the file. */
#include <string.h>

#include "fuzz.h"
#include "plateau/report.h"

static const char *write_again(struct arena *a, const struct analysis *x)
{
    struct text t;
    struct error e = {.code = ERR_NONE};
    text_init(&t, a);
    FUZZ_CHECK(report_record(&t, x, &e) == ERR_NONE, "cannot be written again: %s", e.message);
    return t.s;
}

void fuzz_run_record(const char *bytes, size_t n)
{
    struct arena *a = fuzz_begin();
    struct analysis first, second;
    struct error e = {.code = ERR_NONE};
    if (report_record_read(a, "record.json", bytes, n, &first, &e) != ERR_NONE) {
        FUZZ_CHECK(e.code == ERR_INPUT, "error %s: %s", error_name(e.code), e.message);
        FUZZ_CHECK(e.line >= 1 && (size_t)e.line <= fuzz_physical_lines(bytes, n),
                   "line %ld of the file", e.line);
        FUZZ_CHECK(fuzz_is_harmless(e.message), "unsafe message '%s'", e.message);
    } else {
        const char *once = write_again(a, &first);
        FUZZ_CHECK(report_record_read(a, "again.json", once, strlen(once), &second, &e) == ERR_NONE,
                   "what was written is refused: %s", e.message);
        const char *twice = write_again(a, &second);
        FUZZ_CHECK(strcmp(once, twice) == 0, "another record the second time");
    }
    fuzz_end(a);
}
