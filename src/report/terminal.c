/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer for somebody who stands at the press: what cannot be recommended, the window, what is
 * not shown, what to know, what to run next. */
#include <math.h>
#include <string.h>

#include "report/layout.h"
#include "report/sides.h"

struct page {
    struct text *out;
    struct arena *arena;
    const struct analysis *analysis;
    const struct premises *premises;
    int width;
    bool color;
};

static void heading(struct page *g, const char *s)
{
    if (g->out->length > 0)
        text_add_char(g->out, '\n');
    layout_emphasized(g->out, LAYOUT_BOLD, g->color, s, g->width, 0, 2);
}

static bool is_empty(const char *s)
{
    return s == NULL || *s == '\0';
}

/* The sentence with a full stop behind it. */
static const char *sentence(struct arena *a, const char *s)
{
    const char *safe = layout_safe(a, s);
    size_t n = strlen(safe);
    if (n == 0 || strchr(".!?", safe[n - 1]) != NULL)
        return safe;
    return arena_printf(a, "%s.", safe);
}

/* ---- the window ------------------------------------------------------------------------------ */

static bool has_window(const struct window_setting *s)
{
    return isfinite(s->low_value) || isfinite(s->high_value) || isfinite(s->aim);
}

/* "No hold time can be recommended: why", unless the reason begins like that itself. */
static void cannot_recommend(struct page *g, const char *setting, const char *why)
{
    const char *no = arena_printf(g->arena, "No %s", layout_words(g->arena, setting));
    const char *s = sentence(g->arena, why);
    if (strncmp(s, no, strlen(no)) != 0)
        s = arena_printf(g->arena, "%s can be recommended%s%s", no,
                         *s == '\0'               ? "."
                         : *s >= 'A' && *s <= 'Z' ? ". "
                                                  : ": ",
                         s);
    layout_paragraph(g->out, s, g->width, 0, 2);
}

static bool listed_as_none(const struct window *w, const char *setting)
{
    for (size_t i = 0; i < w->n_none; i++)
        if (strcmp(w->none[i].setting, setting) == 0)
            return true;
    return false;
}

static void what_cannot_be(struct page *g, const struct window *w)
{
    for (size_t i = 0; i < w->n_none; i++)
        cannot_recommend(g, w->none[i].setting, w->none[i].text);
    for (size_t i = 0; i < w->n_settings; i++) {
        const struct window_setting *s = &w->settings[i];
        if (!has_window(s) && !listed_as_none(w, s->setting))
            cannot_recommend(g, s->setting, is_empty(s->because) ? s->aim_because : s->because);
    }
}

static const char *verdict_words(const struct window_setting *s)
{
    if (s->verdict == VERDICT_MET && s->by_convention)
        return "met (by convention)";
    return layout_not_tried(s) ? "not tried" : verdict_text(s->verdict);
}

static void running_sentence(struct page *g, const struct window_setting *s)
{
    if (!isfinite(s->running))
        return;
    const char *where = s->running_verdict == VERDICT_MET       ? "inside the window"
                        : s->running_verdict == VERDICT_NOT_MET ? "outside the window"
                                                                : "not shown to be inside";
    layout_paragraph(
        g->out,
        arena_printf(g->arena, "Now running at %s: %s.",
                     setting_text(g->arena, g->premises, s->setting, s->dimension, s->running),
                     where),
        g->width, 2, 2);
}

static void setting_sentences(struct page *g, const struct window_setting *s)
{
    layout_paragraph(g->out, sentence(g->arena, s->because), g->width, 2, 2);
    if (!isfinite(s->aim) && !is_empty(s->aim_because))
        layout_paragraph(g->out,
                         arena_printf(g->arena, "No aim: %s", sentence(g->arena, s->aim_because)),
                         g->width, 2, 2);
    running_sentence(g, s);
}

#define WINDOW_COLUMNS 6

static const char *limit_of(struct page *g, const struct window_setting *s, double v,
                            const struct bound *from, int toward)
{
    return setting_limit_text(g->arena, g->premises, s->setting, s->dimension, v, from, toward);
}

static void fill_row(struct page *g, const struct window_setting *s, const char **row)
{
    row[0] = layout_words(g->arena, s->setting);
    row[1] = limit_of(g, s, s->low_value, s->low, 1);
    row[2] = setting_text(g->arena, g->premises, s->setting, s->dimension, s->aim);
    row[3] = limit_of(g, s, s->high_value, s->high, -1);
    row[4] = layout_safe(g->arena, s->decided_by);
    row[5] = verdict_words(s);
}

/* Where the table does not fit: one short block per setting. */
static void setting_block(struct page *g, const char *const *row)
{
    struct text *out = g->out;
    layout_begin(out, LAYOUT_BOLD, g->color);
    text_add(out, row[0]);
    layout_end(out, LAYOUT_BOLD, g->color);
    text_addf(out, ": %s\n", row[5]);
    layout_paragraph(out, arena_printf(g->arena, "low %s, aim %s, high %s", row[1], row[2], row[3]),
                     g->width, 2, 4);
    if (!is_empty(row[4]))
        layout_paragraph(out, arena_printf(g->arena, "decided by %s", row[4]), g->width, 2, 4);
}

static void window_table(struct page *g, const struct window *w)
{
    static const char *const titles[WINDOW_COLUMNS] = {"setting", "low",        "aim",
                                                       "high",    "decided by", "verdict"};
    struct layout_column columns[WINDOW_COLUMNS] = {
        {.emphasis = LAYOUT_PLAIN},
        {.right = true},
        {.right = true, .emphasis = LAYOUT_BOLD},
        {.right = true},
        {.emphasis = LAYOUT_PLAIN},
        {.emphasis = LAYOUT_BOLD},
    };
    size_t rows = w->n_settings + 1;
    const char **cells = ARENA_ARRAY(g->arena, const char *, rows *WINDOW_COLUMNS);
    memcpy(cells, titles, sizeof titles);
    for (size_t i = 0; i < w->n_settings; i++)
        fill_row(g, &w->settings[i], &cells[(i + 1) * WINDOW_COLUMNS]);
    size_t width = g->width < LAYOUT_NARROWEST ? LAYOUT_NARROWEST : (size_t)g->width;
    bool fits = layout_fit(g->arena, columns, WINDOW_COLUMNS, cells, rows, width);
    if (fits) {
        struct layout_column head[WINDOW_COLUMNS];
        memcpy(head, columns, sizeof head);
        for (size_t c = 0; c < WINDOW_COLUMNS; c++)
            head[c].emphasis = LAYOUT_DIM;
        layout_row(g->out, head, WINDOW_COLUMNS, cells, g->color);
    }
    for (size_t i = 0; i < w->n_settings; i++) {
        const char *const *row = &cells[(i + 1) * WINDOW_COLUMNS];
        if (fits)
            layout_row(g->out, columns, WINDOW_COLUMNS, row, g->color);
        else
            setting_block(g, row);
        if (has_window(&w->settings[i]))
            setting_sentences(g, &w->settings[i]);
        else
            running_sentence(g, &w->settings[i]);
    }
}

static void the_window(struct page *g)
{
    const struct window *w = g->analysis->window;
    if (w == NULL)
        return;
    what_cannot_be(g, w);
    bool any = false;
    for (size_t i = 0; i < w->n_settings; i++)
        any = any || has_window(&w->settings[i]);
    if (!any) {
        if (g->out->length == 0)
            layout_paragraph(g->out,
                             "No study of this trial puts a limit on a setting, so there is no "
                             "window to show.",
                             g->width, 0, 2);
        for (size_t i = 0; i < w->n_settings; i++)
            running_sentence(g, &w->settings[i]);
        return;
    }
    const char *title =
        g->premises != NULL ? facts_text(g->premises->facts, "trial", "title") : NULL;
    const char *verdict = w->verdict == VERDICT_NONE ? "no verdict" : verdict_text(w->verdict);
    heading(g, is_empty(title) ? arena_printf(g->arena, "Window: %s", verdict)
                               : arena_printf(g->arena, "Window of \"%s\": %s",
                                              layout_safe(g->arena, title), verdict));
    const struct criterion *approved = layout_approved(w);
    if (approved != NULL)
        layout_paragraph(g->out, sentence(g->arena, approved->because), g->width, 0, 2);
    text_add_char(g->out, '\n');
    window_table(g, w);
}

/* The reason why a setting has no window is this study's decision, and was said at the top. */
static bool is_said_already(const struct page *g, const struct finding *f)
{
    const struct window *w = g->analysis->window;
    for (size_t i = 0; w != NULL && i < w->n_settings; i++)
        if (w->settings[i].decided_by != NULL && strcmp(w->settings[i].decided_by, f->study) == 0)
            return true;
    return false;
}

/* Findings that put no bound on a setting still have something to say. */
static void also_found(struct page *g)
{
    bool said = false;
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        if (f->n_bounds > 0 || is_said_already(g, f) || is_empty(f->decision))
            continue;
        if (!said)
            heading(g, "Also found");
        said = true;
        layout_paragraph(g->out,
                         arena_printf(g->arena, "%s: %s", layout_safe(g->arena, f->title),
                                      sentence(g->arena, f->decision)),
                         g->width, 2, 4);
    }
}

/* ---- not met, not shown ---------------------------------------------------------------------- */

static void criterion_paragraph(struct page *g, const char *whose, const struct criterion *c)
{
    struct text t;
    text_init(&t, g->arena);
    text_addf(&t, "%s, %s", layout_safe(g->arena, whose),
              is_empty(c->title) ? layout_words(g->arena, c->name)
                                 : layout_safe(g->arena, c->title));
    if (!is_empty(c->limit_wording))
        text_addf(&t, " (limit %s)", layout_safe(g->arena, c->limit_wording));
    text_addf(&t, ": %s%s",
              is_empty(c->because) ? arena_printf(g->arena, "%s.", verdict_text(c->verdict))
                                   : sentence(g->arena, c->because),
              layout_more_shots(g->arena, c));
    layout_paragraph(g->out, t.s, g->width, 2, 4);
}

static void criteria_of(struct page *g, const char *whose, const struct criterion *c, size_t n,
                        enum verdict v, const char *title, bool *said)
{
    for (size_t i = 0; i < n; i++) {
        if (c[i].verdict != v || layout_is_approved(&c[i]))
            continue;
        if (!*said)
            heading(g, title);
        *said = true;
        criterion_paragraph(g, whose, &c[i]);
    }
}

static void criteria_with(struct page *g, enum verdict v, const char *title)
{
    bool said = false;
    const struct window *w = g->analysis->window;
    if (w != NULL)
        criteria_of(g, "Window", w->checks, w->n_checks, v, title, &said);
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        criteria_of(g, f->title, f->criteria, f->n_criteria, v, title, &said);
    }
}

/* ---- flags ----------------------------------------------------------------------------------- */

#define FLAGS_OF_A_KIND 3

static void flag_line(struct page *g, const struct flag *f)
{
    struct text t;
    text_init(&t, g->arena);
    text_addf(&t, "%s: ", flag_grade_text(f->grade));
    if (!is_empty(f->file)) {
        text_add(&t, layout_safe(g->arena, f->file));
        if (f->line > 0)
            text_addf(&t, ":%ld", f->line);
        text_add(&t, ": ");
    }
    text_addf(&t, "%s [%s]", layout_safe(g->arena, f->text), layout_safe(g->arena, f->code));
    layout_paragraph(g->out, t.s, g->width, 2, 4);
}

/* The first few of a kind, in one list of flags; the rest are counted. */
static void flags_of_grade(struct page *g, const struct flag *flags, size_t n,
                           enum flag_grade grade, bool *said)
{
    for (size_t i = 0; i < n; i++) {
        if (flags[i].grade != grade)
            continue;
        size_t before = 0, after = 0;
        for (size_t k = 0; k < n; k++)
            if (flags[k].grade == grade && strcmp(flags[k].code, flags[i].code) == 0) {
                before += k < i;
                after += k > i;
            }
        if (before >= FLAGS_OF_A_KIND && grade != FLAG_STOP)
            continue;
        if (!*said)
            heading(g, "To know");
        *said = true;
        flag_line(g, &flags[i]);
        if (before + 1 == FLAGS_OF_A_KIND && after > 0 && grade != FLAG_STOP)
            layout_paragraph(g->out,
                             arena_printf(g->arena, "and %zu more [%s], listed in the report",
                                          after, layout_safe(g->arena, flags[i].code)),
                             g->width, 4, 4);
    }
}

static void all_flags(struct page *g)
{
    bool said = false;
    const enum flag_grade grades[] = {FLAG_STOP, FLAG_DOUBT, FLAG_NOTE};
    for (size_t k = 0; k < PL_COUNT(grades); k++) {
        for (size_t i = 0; i < g->analysis->n_findings; i++)
            flags_of_grade(g, g->analysis->findings[i].flags, g->analysis->findings[i].n_flags,
                           grades[k], &said);
        if (g->analysis->window != NULL)
            flags_of_grade(g, g->analysis->window->flags, g->analysis->window->n_flags, grades[k],
                           &said);
    }
    if (said)
        layout_paragraph(g->out, "plateau explain WORD says what a word in brackets means.",
                         g->width, 2, 2);
}

/* ---- what to run next ------------------------------------------------------------------------ */

static bool same_text(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

/* The same shots for the same reason at another value: said in one line. */
static bool same_request(const struct next_shot *a, const struct next_shot *b)
{
    return a->shots == b->shots && same_text(a->setting, b->setting) &&
           same_text(a->series, b->series) && same_text(a->promise, b->promise) &&
           same_text(a->why, b->why);
}

static void request(struct page *g, const struct next_shot *s, size_t n)
{
    struct text t;
    text_init(&t, g->arena);
    text_addf(&t, "%d shot%s%s at %s ", s->shots, s->shots == 1 ? "" : "s", n > 1 ? " each" : "",
              is_empty(s->setting) ? "setting" : layout_words(g->arena, s->setting));
    for (size_t j = 0; j < n; j++) {
        const char *joint = j + 1 == n ? " and " : ", ";
        text_addf(&t, "%s%s", j == 0 ? "" : joint,
                  setting_text(g->arena, g->premises, is_empty(s->setting) ? "" : s->setting,
                               s->dimension, s[j].at));
    }
    if (!is_empty(s->series))
        text_addf(&t, " (%s)", layout_safe(g->arena, s->series));
    if (!is_empty(s->promise))
        text_addf(&t, ": %s", sentence(g->arena, s->promise));
    if (!is_empty(s->why))
        text_addf(&t, "%s Why: %s", is_empty(s->promise) ? "." : "", sentence(g->arena, s->why));
    layout_paragraph(g->out, t.s, g->width, 2, 4);
}

static void requests(struct page *g, const struct next_shot *s, size_t n, bool *said)
{
    for (size_t k = 0, last; k < n; k = last + 1) {
        last = k;
        while (last + 1 < n && same_request(&s[k], &s[last + 1]))
            last++;
        if (!*said)
            heading(g, "Run next");
        *said = true;
        request(g, &s[k], last - k + 1);
    }
}

static void next_shots(struct page *g)
{
    bool said = false;
    for (size_t i = 0; i < g->analysis->n_findings; i++)
        requests(g, g->analysis->findings[i].next_shots, g->analysis->findings[i].n_next_shots,
                 &said);
    if (g->analysis->window != NULL)
        requests(g, g->analysis->window->next_shots, g->analysis->window->n_next_shots, &said);
}

/* ---- on other shots -------------------------------------------------------------------------- */

static const char *side_text(struct page *g, const struct sides_cell *c)
{
    const char *s = layout_safe(g->arena, c->text);
    return c->differs ? arena_printf(g->arena, "* %s", s) : s;
}

/* What does not differ and is no verdict or limit is only named. */
static bool has_row(const struct sides *s, size_t i)
{
    return i < s->n_front || s->rows[i].differs;
}

static const char *names_of_others(struct page *g, const struct sides *s, bool changed,
                                   const char *before)
{
    struct text t;
    text_init(&t, g->arena);
    for (size_t i = 0; i < s->n_rows; i++)
        if (!has_row(s, i) && s->rows[i].changed == changed)
            text_addf(&t, "%s%s", t.length == 0 ? before : "; ",
                      layout_safe(g->arena, s->rows[i].name));
    return sentence(g->arena, t.s);
}

/* Where the table does not fit: each result with one line per column. */
static void side_block(struct page *g, const struct sides *s, const char *const *head,
                       const char *const *row)
{
    layout_paragraph(g->out, row[0], g->width, 2, 4);
    for (size_t k = 1; k <= s->n; k++)
        layout_paragraph(g->out, arena_printf(g->arena, "%s: %s", head[k], row[k]), g->width, 4, 6);
}

static void side_table(struct page *g, const struct sides *s)
{
    size_t n = s->n + 1, rows = 1;
    struct layout_column columns[SIDES_MOST + 1] = {{.emphasis = LAYOUT_PLAIN}};
    const char **cells = ARENA_ARRAY(g->arena, const char *, (s->n_rows + 1) * n);
    cells[0] = "";
    for (size_t k = 0; k < s->n; k++)
        cells[k + 1] = layout_safe(g->arena, s->heads[k]);
    for (size_t i = 0; i < s->n_rows; i++) {
        if (!has_row(s, i))
            continue;
        const char **row = &cells[rows++ * n];
        row[0] = layout_safe(g->arena, s->rows[i].name);
        for (size_t k = 0; k < s->n; k++)
            row[k + 1] = side_text(g, &s->rows[i].cells[k]);
    }
    size_t width = g->width < LAYOUT_NARROWEST ? LAYOUT_NARROWEST : (size_t)g->width;
    bool fits = layout_fit(g->arena, columns, n, cells, rows, width);
    for (size_t i = fits ? 0 : 1; i < rows; i++) {
        for (size_t k = 0; k < n; k++)
            columns[k].emphasis = i == 0 ? LAYOUT_DIM : LAYOUT_PLAIN;
        if (fits)
            layout_row(g->out, columns, n, &cells[i * n], g->color);
        else
            side_block(g, s, cells, &cells[i * n]);
    }
    layout_paragraph(
        g->out, names_of_others(g, s, true, "Other numbers, each inside the other's interval: "),
        g->width, 2, 2);
    layout_paragraph(g->out, names_of_others(g, s, false, "The same: "), g->width, 2, 2);
    layout_paragraph(g->out, arena_printf(g->arena, s->n_differ > 0 ? "* %s" : "%s", sides_key(s)),
                     g->width, 2, 2);
}

static void other_answers(struct page *g, const struct finding *f)
{
    struct sides s;
    bool table = sides_make(g->arena, g->premises, f, &s);
    const char *said[] = {sides_sentence(f, SHOTS_WITH_EXCLUDED),
                          sides_sentence(f, SHOTS_WITHOUT_ODD)};
    if (!table && said[0] == NULL && said[1] == NULL)
        return;
    heading(g, arena_printf(g->arena, "%s, side by side", layout_safe(g->arena, f->title)));
    for (size_t i = 0; i < PL_COUNT(said); i++)
        layout_paragraph(g->out, sentence(g->arena, said[i]), g->width, 2, 4);
    if (table)
        side_table(g, &s);
}

void report_terminal(struct text *out, const struct analysis *a, const struct terminal_style *s)
{
    struct text page;
    text_init(&page, out->arena);
    struct page g = {.out = &page,
                     .arena = out->arena,
                     .analysis = a,
                     .premises = a->premises,
                     .width = s->width,
                     .color = s->color};
    the_window(&g);
    also_found(&g);
    criteria_with(&g, VERDICT_NOT_MET, "Not met");
    criteria_with(&g, VERDICT_NOT_SHOWN, "Not shown");
    all_flags(&g);
    next_shots(&g);
    for (size_t i = 0; i < a->n_findings; i++)
        other_answers(&g, &a->findings[i]);
    if (!is_empty(s->report_path)) {
        /* on a line of its own, never broken, so that it can be copied */
        heading(&g, "Report");
        text_addf(g.out, "  %s\n", layout_safe(g.arena, s->report_path));
    }
    text_add(out, page.s);
}
