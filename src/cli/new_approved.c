/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The section [approved] of a short trial: what the record says of every setting and response, in
 * the units in which people see them. */
#include <math.h>
#include <string.h>

#include "commands.h"

struct approved {
    struct text *t;
    const struct premises *premises;
};

/* The unit that was entered where trial.ini can say it, else the canonical one: a hydraulic
 * pressure cannot be told from a melt pressure by its unit. */
static struct display_unit unit_for(const struct approved *p, enum dimension d)
{
    struct display_unit u = p->premises->display[d];
    const struct unit *known = u.name != NULL ? unit_find(u.name, strlen(u.name), NULL) : NULL;
    if (known != NULL && known->dimension == d && !(fabs(known->factor - u.factor) > 0.0) &&
        !(fabs(known->offset - u.offset) > 0.0))
        return u;
    return (struct display_unit){dimension_unit(d), 1.0, 0.0};
}

static void add_number(const struct approved *p, const char *name, const char *part,
                       enum dimension d, double v)
{
    struct display_unit u = unit_for(p, d);
    if (isfinite(v))
        text_addf(p->t, "%s.%s = %.10g %s\n", name, part, (v - u.offset) / u.factor, u.name);
}

static void add_range(const struct approved *p, const char *name, const char *part,
                      enum dimension d, double low, double high)
{
    struct display_unit u = unit_for(p, d);
    if (isfinite(low) && isfinite(high))
        text_addf(p->t, "%s.%s = %.10g..%.10g %s\n", name, part, (low - u.offset) / u.factor,
                  (high - u.offset) / u.factor, u.name);
}

/* A sentence of the record; a record comes from anywhere. */
static void add_words(const struct approved *p, const char *name, const char *part, const char *s)
{
    if (s == NULL || *s == '\0')
        return;
    text_addf(p->t, "%s.%s = ", name, part);
    for (const char *c = text_harmless(p->t->arena, s, strlen(s)); *c != '\0'; c++)
        text_add_char(p->t, (unsigned char)*c < ' ' ? ' ' : *c);
    text_add_char(p->t, '\n');
}

static void add_limit(const struct approved *p, const struct window_setting *s, bool lower)
{
    const struct bound *b = lower ? s->low : s->high;
    double v = lower ? s->low_value : s->high_value;
    if (!isfinite(v))
        return;
    add_number(p, s->setting, lower ? "low" : "high", s->dimension, v);
    if (b == NULL)
        return;
    /* that of a short trial's record came from an earlier one */
    bool carried = strcmp(b->study != NULL ? b->study : "", WINDOW_BY_RECORD) == 0;
    add_words(p, s->setting, lower ? "low_from" : "high_from", carried ? b->model : b->study);
    add_words(p, s->setting, lower ? "low_kind" : "high_kind",
              b->grade == BOUND_CONVENTION ? "convention" : "limit");
    add_words(p, s->setting, lower ? "low_why" : "high_why", b->because);
}

/* What an earlier short trial did not try stays as it was approved. */
static const char *verdict_of(const struct approved *p, const struct window_setting *s)
{
    const char *before = facts_text(p->premises->facts, "approved",
                                    arena_printf(p->t->arena, "%s.verdict", s->setting));
    return s->verdict == VERDICT_NONE && before != NULL ? before : verdict_text(s->verdict);
}

void new_approved_section(struct text *t, const struct analysis *from, const char *record,
                          const char *sha256)
{
    struct approved p = {t, from->premises};
    const struct window *w = from->window;
    text_add(t, "\n[approved]\n"
                "# What that record says. The new lot is held against it: do not change these "
                "lines.\n");
    text_addf(t, "record = %s\nrecord_sha256 = %s\n", record, sha256);
    const char *lot = facts_text(from->premises->facts, "trial", "lot");
    if (lot != NULL)
        text_addf(t, "record_lot = %s\n", lot);
    for (size_t i = 0; i < w->n_settings; i++) {
        const struct window_setting *s = &w->settings[i];
        if (!isfinite(s->low_value) && !isfinite(s->high_value))
            continue;
        text_add_char(t, '\n');
        add_number(&p, s->setting, "aim", s->dimension, s->aim);
        add_limit(&p, s, true);
        add_limit(&p, s, false);
        add_words(&p, s->setting, "verdict", verdict_of(&p, s));
    }
    for (size_t i = 0; i < w->n_expected; i++) {
        const struct expected_response *r = &w->expected[i];
        text_add_char(t, '\n');
        add_number(&p, r->name, "expected", r->dimension, r->value);
        add_range(&p, r->name, "interval", r->dimension, r->low, r->high);
        add_range(&p, r->name, "alarm", r->dimension, r->alarm_low, r->alarm_high);
        const char *from_words = r->because;
        size_t lead = strlen(WINDOW_BY_RECORD ": ");
        if (from_words != NULL && strncmp(from_words, WINDOW_BY_RECORD ": ", lead) == 0)
            from_words += lead;
        add_words(&p, r->name, "expected_from", from_words);
    }
}
