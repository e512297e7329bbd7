/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What must hold of every page: well formed, and harmless. Included behind near.h. */
#ifndef TESTS_HTML_CHECKS_H
#define TESTS_HTML_CHECKS_H

#include <string.h>

#include "markup.h"
#include "plateau/report.h"

/* Nothing runs, nothing is fetched, no control character or broken byte is left. */
static void assert_harmless(const char *s)
{
    assert_well_formed(s);
    static const char *const never[] = {"<script", "http:",   "https:", " src=",      "@import",
                                        "<link",   "<iframe", "<img",   "javascript", " onload",
                                        "<object", "<form",   "<base"};
    for (size_t i = 0; i < PL_COUNT(never); i++)
        if (strstr(s, never[i]) != NULL)
            fail_msg("contains %s: %.80s", never[i], strstr(s, never[i]));
    size_t length = strlen(s);
    for (const char *p = s; length > 0;) {
        unsigned cp = 0;
        size_t n = utf8_next(p, length, &cp);
        assert_true(n > 0);
        if ((cp < 0x20 && cp != '\n') || cp == 0x202E || (cp >= 0x7F && cp < 0xA0))
            fail_msg("character U+%04X", cp);
        p += n;
        length -= n;
    }
    for (const char *p = strstr(s, "url("); p != NULL; p = strstr(p + 1, "url("))
        assert_int_equal(p[4], '#');
    for (const char *p = strstr(s, "href=\""); p != NULL; p = strstr(p + 1, "href=\""))
        assert_int_equal(p[6], '#');
}

#endif
