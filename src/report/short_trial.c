/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What terminal and page ask of a short trial, which is held against an approved record. */
#include <string.h>

#include "report/layout.h"

bool layout_is_approved(const struct criterion *c)
{
    return c->name != NULL && strcmp(c->name, "approved_window") == 0;
}

const struct criterion *layout_approved(const struct window *w)
{
    for (size_t i = 0; w != NULL && i < w->n_checks; i++)
        if (layout_is_approved(&w->checks[i]))
            return &w->checks[i];
    return NULL;
}

bool layout_not_tried(const struct window_setting *s)
{
    const struct bound *b = s->low != NULL ? s->low : s->high;
    return s->verdict == VERDICT_NONE && b != NULL && b->study != NULL &&
           strcmp(b->study, WINDOW_BY_RECORD) == 0;
}
