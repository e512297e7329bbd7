/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page of the sample analysis, and how tests read it. Included behind near.h. */
#ifndef TESTS_HTML_PAGE_H
#define TESTS_HTML_PAGE_H

#include <string.h>

#include "plateau/report.h"
#include "sample_fixture.h"

/* ---- reading back -----------------------------------------------------------------------------
 */

static inline const char *page(struct fixture *f)
{
    struct text t;
    text_init(&t, f->arena);
    report_html(&t, &f->analysis);
    return t.s;
}

static inline size_t count(const char *s, const char *what)
{
    size_t n = 0;
    for (const char *p = strstr(s, what); p != NULL; p = strstr(p + 1, what))
        n++;
    return n;
}

static inline void assert_order(const char *s, const char *const *what, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const char *p = strstr(s, what[i]);
        if (p == NULL)
            fail_msg("\"%s\" is missing or out of order", what[i]);
        s = p + 1;
    }
}

#define ASSERT_ORDER(s, ...)                                                                       \
    assert_order((s), (const char *const[]){__VA_ARGS__},                                          \
                 PL_COUNT(((const char *const[]){__VA_ARGS__})))

static inline void assert_has(const char *s, const char *what)
{
    if (strstr(s, what) == NULL)
        fail_msg("\"%s\" is missing", what);
}

/* The part of the page from one text to the next. */
static inline const char *part(struct arena *a, const char *s, const char *from, const char *to)
{
    const char *p = strstr(s, from);
    assert_non_null(p);
    const char *end = strstr(p, to);
    return end == NULL ? p : arena_copy_n(a, p, (size_t)(end - p));
}

/* Text without tags, one blank between pieces. */
static inline const char *words(struct arena *a, const char *s)
{
    struct text t;
    text_init(&t, a);
    bool tag = false;
    for (; *s != '\0'; s++) {
        if (*s == '<') {
            tag = true;
            if (t.length > 0 && t.s[t.length - 1] != ' ')
                text_add_char(&t, ' ');
        } else if (*s == '>') {
            tag = false;
        } else if (!tag && *s != '\n' && !(*s == ' ' && t.length > 0 && t.s[t.length - 1] == ' ')) {
            text_add_char(&t, *s);
        }
    }
    return t.s;
}

#endif
