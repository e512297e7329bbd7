/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "report/layout.h"
#include "report/place.h"

struct scan {
    const char *s;
    size_t at, n;
};

static char here(const struct scan *s)
{
    return s->at < s->n ? s->s[s->at] : '\0';
}

static void skip_space(struct scan *s)
{
    while (s->at < s->n && strchr(" \t\r\n,:", s->s[s->at]) != NULL)
        s->at++;
}

static void skip_string(struct scan *s)
{
    s->at++;
    while (s->at < s->n && s->s[s->at] != '"')
        s->at += s->s[s->at] == '\\' ? 2 : 1;
    s->at++;
}

static void skip_value(struct scan *s)
{
    size_t depth = 0;
    do {
        char c = here(s);
        if (c == '"') {
            skip_string(s);
        } else if (c == '{' || c == '[') {
            depth++;
            s->at++;
        } else if (c == '}' || c == ']') {
            depth--;
            s->at++;
        } else {
            while (s->at < s->n && strchr("{}[]\", \t\r\n:", s->s[s->at]) == NULL)
                s->at++;
        }
        skip_space(s);
    } while (depth > 0 && s->at < s->n);
}

/* Moves from the start of a container to the value of one step; false when it is not there. */
static bool enter(struct scan *s, const struct place_step *step)
{
    if (here(s) != (step->key != NULL ? '{' : '['))
        return false;
    s->at++;
    skip_space(s);
    for (size_t i = 0; s->at < s->n && here(s) != '}' && here(s) != ']'; i++) {
        if (step->key == NULL && i == step->index)
            return true;
        if (step->key != NULL) {
            size_t from = s->at + 1;
            skip_string(s);
            size_t length = s->at > from ? s->at - 1 - from : 0;
            skip_space(s);
            if (length == strlen(step->key) && from + length <= s->n &&
                memcmp(s->s + from, step->key, length) == 0)
                return true;
        }
        skip_value(s);
    }
    return false;
}

long place_line(const char *bytes, size_t n, const struct place_step *steps, size_t n_steps)
{
    struct scan s = {bytes, 0, n};
    skip_space(&s);
    size_t found = s.at;
    for (size_t i = 0; i < n_steps && enter(&s, &steps[i]); i++)
        found = s.at;
    long line = 1;
    for (size_t i = 0; i < found && i < n; i++)
        line += bytes[i] == '\n';
    return line;
}

const char *place_path(struct arena *a, const struct place_step *steps, size_t n_steps)
{
    struct text t;
    text_init(&t, a);
    for (size_t i = 0; i < n_steps; i++) {
        if (steps[i].key == NULL)
            text_addf(&t, "[%zu]", steps[i].index);
        else
            text_addf(&t, "%s%s", i > 0 ? "." : "", layout_safe(a, steps[i].key));
    }
    return n_steps == 0 ? "the record" : t.s;
}
