/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "markup.h"
#include "near.h"
#include "plateau/base.h"

static bool is_void(const char *name)
{
    static const char *const names[] = {"!DOCTYPE", "?xml", "meta", "br"};
    for (size_t i = 0; i < PL_COUNT(names); i++) {
        size_t n = strlen(names[i]);
        if (strncmp(name, names[i], n) == 0 && strchr(" >", name[n]) != NULL)
            return true;
    }
    return false;
}

void assert_well_formed(const char *s)
{
    const char *open[64];
    size_t depth = 0;
    for (const char *p = strchr(s, '<'); p != NULL; p = strchr(p + 1, '<')) {
        const char *end = strchr(p, '>');
        assert_non_null(end);
        if (is_void(p + 1) || end[-1] == '/')
            continue;
        if (p[1] == '/') {
            assert_true(depth > 0);
            size_t n = strcspn(p + 2, ">");
            const char *name = open[--depth];
            if (strncmp(name, p + 2, n) != 0 || strchr(" >\n", name[n]) == NULL)
                fail_msg("%.20s closes %.20s", p, name);
        } else {
            assert_true(depth < PL_COUNT(open));
            open[depth++] = p + 1;
        }
    }
    assert_int_equal(depth, 0);
}
