/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "plateau/base.h"

static const struct {
    const char *name;
    int status;
} error_list[] = {
#define ROW(name, status, text) {text, status},
    PL_ERROR_LIST(ROW)
#undef ROW
};

/* What did not fit in `size` bytes ends before a character that was cut in two: the last byte is
 * free for the test. */
static void end_whole(char *s, size_t size)
{
    s[utf8_prefix(s, size - 2)] = '\0';
}

enum errc error_set(struct error *e, const char *src_file, int src_line, enum errc code,
                    const char *file, long line, const char *fmt, ...)
{
    if (e == NULL)
        return code;
    if (e->code != ERR_NONE)
        return e->code;
    e->code = code;
    e->src_file = src_file;
    e->src_line = src_line;
    e->line = line;
    e->file[0] = '\0';
    if (file != NULL)
        snprintf(e->file, sizeof e->file, "%s", file);
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(e->message, sizeof e->message, fmt, ap); /* NOLINT: va_start is seen above */
    va_end(ap);
    end_whole(e->file, sizeof e->file);
    end_whole(e->message, sizeof e->message);
    return code;
}

int error_exit_status(enum errc code)
{
    return error_list[code].status;
}

const char *error_name(enum errc code)
{
    return error_list[code].name;
}
