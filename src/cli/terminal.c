/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "commands.h"

#define WIDTH_LEAST 40
#define WIDTH_MOST 400
#define WIDTH_DEFAULT 80

static int within_reason(long width)
{
    return width < WIDTH_LEAST ? WIDTH_LEAST : width > WIDTH_MOST ? WIDTH_MOST : (int)width;
}

int terminal_width(FILE *f)
{
    const char *columns = getenv("COLUMNS");
    if (columns != NULL && columns[0] >= '1' && columns[0] <= '9') {
        char *end;
        long width = strtol(columns, &end, 10);
        if (*end == '\0')
            return within_reason(width);
    }
    struct winsize size;
    if (isatty(fileno(f)) && ioctl(fileno(f), TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
        return within_reason(size.ws_col);
    return WIDTH_DEFAULT;
}

bool terminal_color(FILE *f, const char *when)
{
    if (when != NULL && strcmp(when, "auto") != 0)
        return strcmp(when, "always") == 0;
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    if (no_color != NULL && no_color[0] != '\0')
        return false;
    return isatty(fileno(f)) && term != NULL && strcmp(term, "dumb") != 0;
}

struct terminal_style terminal_style(FILE *f, const char *when)
{
    return (struct terminal_style){.width = terminal_width(f), .color = terminal_color(f, when)};
}

void text_add_wrapped(struct text *t, const char *s, int at, int indent, int width)
{
    int column = at;
    bool begun = false; /* something stands on this line already */
    while (*s != '\0') {
        size_t n = strcspn(s, " ");
        char *word = arena_copy_n(t->arena, s, n);
        int columns = (int)utf8_columns(word);
        if (begun && column + 1 + columns > width) {
            text_addf(t, "\n%*s", indent, "");
            column = indent;
            begun = false;
        }
        if (begun)
            text_add_char(t, ' ');
        text_add(t, word);
        column += columns + begun;
        begun = true;
        s += n;
        s += strspn(s, " ");
    }
    text_add_char(t, '\n');
}

const char *cli_quote(struct arena *a, const char *s)
{
    return text_harmless(a, s, strlen(s));
}

void cli_print(struct invocation *inv, const struct text *t)
{
    errno = 0;
    if ((fwrite(t->s, 1, t->length, inv->out) < t->length || fflush(inv->out) != 0) &&
        inv->out_errno == 0)
        inv->out_errno = errno != 0 ? errno : EIO;
}

int cli_fail(const struct invocation *inv, const struct error *e)
{
    fputs("plateau: ", inv->err);
    if (e->file[0] != '\0' && e->line > 0)
        fprintf(inv->err, "%s:%ld: ", cli_quote(inv->arena, e->file), e->line);
    else if (e->file[0] != '\0')
        fprintf(inv->err, "%s: ", cli_quote(inv->arena, e->file));
    fprintf(inv->err, "%s\n", e->message);
    if (e->code == ERR_INTERNAL || e->code == ERR_NUMERIC)
        fprintf(inv->err,
                "plateau: this is a fault of the program, found at %s:%d; no result was written. "
                "Please report it together with the trial folder\n",
                e->src_file, e->src_line);
    return error_exit_status(e->code);
}
