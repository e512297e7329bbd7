/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Page one and what follows from it: the settings, why they are what they are, what is not proven
 * and which shots would prove it. */
#include <math.h>
#include <string.h>

#include "report/html.h"
#include "report/layout.h"
#include "report/svg.h"

static bool has_window(const struct window_setting *s)
{
    return isfinite(s->low_value) || isfinite(s->high_value) || isfinite(s->aim);
}

static const char *title_of(struct html *g, const struct window_setting *s)
{
    return html_is_empty(s->title) ? layout_words(g->arena, s->setting) : s->title;
}

static const char *verdict_words(const struct window_setting *s)
{
    if (layout_not_tried(s))
        return "not tried";
    return s->verdict == VERDICT_MET && s->by_convention ? "met (by convention)" : NULL;
}

/* ---- the settings ------------------------------------------------------------------------- */

static bool listed_as_none(const struct window *w, const char *setting)
{
    for (size_t i = 0; i < w->n_none; i++)
        if (strcmp(w->none[i].setting, setting) == 0)
            return true;
    return false;
}

static void no_setting(struct html *g, const char *setting, const char *why)
{
    html_raw(g, "<p class=\"none\">");
    if (!html_is_empty(why) && strncmp(why, "No ", 3) == 0) {
        html_text(g, html_full_stop(g->arena, why));
        html_raw(g, "</p>\n");
        return;
    }
    html_raw(g, "No ");
    html_text(g, setting);
    html_raw(g, " can be recommended");
    html_text(g, html_is_empty(why) ? "." : why[0] >= 'A' && why[0] <= 'Z' ? ". " : ": ");
    html_text(g, why);
    if (!html_is_empty(why) && strchr(".!?", why[strlen(why) - 1]) == NULL)
        html_raw(g, ".");
    html_raw(g, "</p>\n");
}

/* What cannot be recommended comes first, and plainly. */
static void what_cannot_be(struct html *g, const struct window *w)
{
    for (size_t i = 0; i < w->n_none; i++)
        no_setting(g, layout_words(g->arena, w->none[i].setting), w->none[i].text);
    for (size_t i = 0; i < w->n_settings; i++) {
        const struct window_setting *s = &w->settings[i];
        if (!has_window(s) && !listed_as_none(w, s->setting))
            no_setting(g, layout_words(g->arena, s->setting),
                       html_is_empty(s->because) ? s->aim_because : s->because);
    }
}

static const char *end_text(struct html *g, const struct window_setting *s, double v,
                            const struct bound *from, int toward)
{
    return isnan(v) ? "none"
                    : setting_limit_text(g->arena, g->premises, s->setting, s->dimension, v, from,
                                         toward);
}

static const char *where_running(enum verdict v)
{
    return v == VERDICT_MET       ? "inside"
           : v == VERDICT_NOT_MET ? "outside"
                                  : "not shown to be inside";
}

static void setting_row(struct html *g, const struct window_setting *s, bool with_running)
{
    html_row_open(g, NULL);
    html_row_head(g, title_of(g, s));
    html_number_cell(g, end_text(g, s, s->low_value, s->low, 1));
    html_cell_open(g, "n aim");
    html_text(g, isfinite(s->aim)
                     ? setting_text(g->arena, g->premises, s->setting, s->dimension, s->aim)
                     : "none");
    html_raw(g, "</td>");
    html_number_cell(g, end_text(g, s, s->high_value, s->high, -1));
    html_cell_open(g, NULL);
    html_verdict(g, s->verdict, verdict_words(s));
    html_raw(g, "</td>");
    if (with_running)
        html_cell(g, isfinite(s->running)
                         ? arena_printf(g->arena, "%s, %s",
                                        setting_text(g->arena, g->premises, s->setting,
                                                     s->dimension, s->running),
                                        where_running(s->running_verdict))
                         : "");
    html_cell(g, s->decided_by);
    html_row_close(g);
}

static void setting_table(struct html *g, const struct window *w)
{
    bool with_running = false, any = false;
    for (size_t i = 0; i < w->n_settings; i++) {
        with_running = with_running || isfinite(w->settings[i].running);
        any = any || has_window(&w->settings[i]);
    }
    if (!any && w->n_settings == 0 && w->n_none == 0)
        html_sentence(g, "No study of this trial puts a limit on a setting, so there is no window "
                         "to show");
    if (!any && !with_running)
        return;
    const char *heads[7] = {"Setting", "#Low", "#Aim", "#High", "Verdict"};
    size_t n = 5;
    if (with_running)
        heads[n++] = "Running now";
    heads[n++] = "Decided by";
    html_card_table_open(g, "window", "Settings: aim, and the limits to stay inside", heads, n);
    for (size_t i = 0; i < w->n_settings; i++)
        if (has_window(&w->settings[i]) || isfinite(w->settings[i].running))
            setting_row(g, &w->settings[i], with_running);
    html_table_close(g);
}

/* The unit stands beside the expected value of the row. */
static const char *bare(struct html *g, const struct display_unit *u, double v, int decimals)
{
    return isfinite(v) ? html_number(g->arena, u, v, decimals) : "none";
}

static void expected_row(struct html *g, const struct expected_response *e)
{
    struct display_unit u = svg_unit(g->premises, e->dimension, NULL);
    bool alarms = isfinite(e->alarm_low) && isfinite(e->alarm_high);
    int decimals = html_decimals(&u, e->value, alarms ? e->alarm_low : e->low,
                                 alarms ? e->alarm_high : e->high);
    html_row_open(g, NULL);
    html_row_head(g, html_is_empty(e->title) ? layout_words(g->arena, e->name) : e->title);
    html_number_cell(g, html_amount(g->arena, &u, e->value, decimals));
    html_number_cell(g, bare(g, &u, e->alarm_low, decimals));
    html_number_cell(g, bare(g, &u, e->alarm_high, decimals));
    html_plain_cell(g, isfinite(e->low) && isfinite(e->high)
                           ? arena_printf(g->arena, "%s to %s", bare(g, &u, e->low, decimals),
                                          bare(g, &u, e->high, decimals))
                           : "not known");
    html_cell(g, e->because);
    html_row_close(g);
}

static void expected_table(struct html *g, const struct window *w)
{
    if (w->n_expected == 0)
        return;
    static const char *const heads[] = {"Response",     "#Expected", "#Alarm below",
                                        "#Alarm above", "Interval",  "From"};
    html_card_table_open(g, "expected", "What the press and the part should show at the aim", heads,
                         PL_COUNT(heads));
    for (size_t i = 0; i < w->n_expected; i++)
        expected_row(g, &w->expected[i]);
    html_table_close(g);
    double confidence =
        g->premises != NULL && g->premises->confidence > 0.0 ? g->premises->confidence : 0.95;
    text_addf(g->out,
              "<p class=\"quiet\">The interval is where the mean lies when the press is set up "
              "anew (%s); the alarm limits add what 99.73 %% of single shots scatter around their "
              "mean, so a single shot beyond one is a reason to stop and look for the cause. Fill "
              "time, melt pressure and the times describe the process on any press; speed and "
              "hydraulic pressure belong to this one.</p>\n",
              html_percent(g->arena, confidence));
}

/* Flags of doubt and of stop by name; what they say stands further down. */
static void add_doubts(const struct flag *flags, size_t n, const char *whose, struct text *t)
{
    bool any = false;
    for (size_t i = 0; i < n; i++) {
        bool again = flags[i].grade == FLAG_NOTE;
        for (size_t j = 0; j < i && !again; j++)
            again = flags[j].grade != FLAG_NOTE && strcmp(flags[j].code, flags[i].code) == 0;
        if (again)
            continue;
        if (any)
            text_addf(t, ", %s", flags[i].code);
        else
            text_addf(t, "%s%s: %s", t->length > 0 ? "; " : "", whose, flags[i].code);
        any = true;
    }
}

/* The sheet may hang at the press by itself. */
static void doubts_beside(struct html *g)
{
    const struct window *w = g->analysis->window;
    struct text t;
    text_init(&t, g->arena);
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        add_doubts(f->flags, f->n_flags, f->title, &t);
    }
    add_doubts(w->flags, w->n_flags, "Window", &t);
    if (t.length == 0)
        return;
    html_raw(g, "<p><b>Doubts beside these verdicts:</b> ");
    html_text(g, t.s);
    html_raw(g, ". Read what they say under \"What is not proven\" before you set.</p>\n");
}

void html_settings(struct html *g)
{
    const struct window *w = g->analysis->window;
    html_raw(g, "<h2 id=\"settings\">Settings</h2>\n");
    if (w == NULL) {
        html_sentence(g, "No window was made");
        return;
    }
    html_raw(g, "<p>The window as a whole: ");
    html_verdict(g, w->verdict, NULL);
    html_raw(g, "</p>\n");
    const struct criterion *approved = layout_approved(w);
    if (approved != NULL)
        html_sentence(g, approved->because);
    what_cannot_be(g, w);
    setting_table(g, w);
    doubts_beside(g);
    expected_table(g, w);
    html_raw(g, "<p class=\"quiet\"><b>met</b>: the whole interval meets the criterion. <b>not "
                "met</b>: the whole interval misses it. <b>not shown</b>: the shots made so far "
                "cannot tell. These settings are advice to the people who are qualified to set "
                "this press; the cautions in this report belong to them: hot melt, pressure and "
                "clamp force injure, so guards stay closed, and the makers' instructions, local "
                "codes and the site's rules come first.</p>\n");
}

/* ---- why ---------------------------------------------------------------------------------- */

/* Which study, criterion and curve, from how many shots. */
static const char *evidence_text(struct html *g, const struct bound *b)
{
    struct text t;
    text_init(&t, g->arena);
    text_add(&t, b->study != NULL ? b->study : "");
    if (!html_is_empty(b->criterion))
        text_addf(&t, ", %s", layout_words(g->arena, b->criterion));
    if (!html_is_empty(b->model))
        text_addf(&t, ", %s", b->model);
    if (b->rows > 0)
        text_addf(&t, ", %zu shot%s", b->rows, b->rows == 1 ? "" : "s");
    return t.s;
}

static void bound_row(struct html *g, const struct window_setting *s, const struct bound *b,
                      bool decides)
{
    bool lower = b->side == BOUND_LOWER;
    struct display_unit u = svg_unit(g->premises, b->dimension, NULL);
    int decimals = html_decimals(&u, b->value, b->low, b->high);
    html_row_open(g, decides ? "decides" : NULL);
    html_row_head(g, lower ? "at least" : "at most");
    html_number_cell(g, setting_limit_text(g->arena, g->premises, s->setting, s->dimension,
                                           b->value, b, lower ? +1 : -1));
    html_plain_cell(g, isfinite(b->low) && isfinite(b->high) && b->low < b->high
                           ? html_interval(g->arena, &u, b->low, b->high, decimals)
                           : "");
    html_cell(g, html_full_stop(g->arena, b->because));
    html_cell(g, evidence_text(g, b));
    html_cell(g, b->grade == BOUND_LIMIT ? "limit" : "convention");
    html_row_close(g);
}

static void bounds_table(struct html *g, const struct window_setting *s)
{
    static const char *const heads[] = {"Side", "#Limit", "Interval", "Why", "From", "Kind"};
    if (s->low == NULL && s->high == NULL && s->n_runners_up == 0)
        return;
    html_card_table_open(
        g, "bounds", s->n_runners_up > 0 ? "Limits found; those in bold decide" : "Limits found",
        heads, PL_COUNT(heads));
    if (s->low != NULL)
        bound_row(g, s, s->low, true);
    if (s->high != NULL)
        bound_row(g, s, s->high, true);
    for (size_t i = 0; i < s->n_runners_up; i++)
        bound_row(g, s, s->runners_up[i], false);
    html_table_close(g);
}

static void reason(struct html *g, const struct window_setting *s)
{
    html_raw(g, "<h5>");
    html_text(g, title_of(g, s));
    html_raw(g, " ");
    html_verdict(g, s->verdict, verdict_words(s));
    html_raw(g, "</h5>\n");
    html_sentence(g, s->because);
    if (!isfinite(s->aim) && !html_is_empty(s->aim_because))
        html_sentence(g, arena_printf(g->arena, "No aim: %s", s->aim_because));
    if (isfinite(s->running))
        html_sentence(g, arena_printf(g->arena, "Running now at %s: %s the window",
                                      setting_text(g->arena, g->premises, s->setting, s->dimension,
                                                   s->running),
                                      where_running(s->running_verdict)));
    bounds_table(g, s);
}

static void study_verdicts(struct html *g)
{
    static const char *const heads[] = {"Study", "Verdict", "What it says"};
    if (g->analysis->n_findings == 0)
        return;
    html_card_table_open(g, "verdicts", "Verdict of each study", heads, PL_COUNT(heads));
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        html_row_open(g, NULL);
        text_addf(g->out, "<th scope=\"row\"><a href=\"#study-%s\">",
                  svg_safe_id(g->arena, f->study));
        html_text(g, f->title);
        html_raw(g, "</a></th>");
        g->column++;
        html_cell_open(g, NULL);
        html_verdict(g, f->verdict, NULL);
        html_raw(g, "</td>");
        html_cell(g, html_full_stop(g->arena, f->decision));
        html_row_close(g);
    }
    html_table_close(g);
}

/* What only several studies together can tell. */
static void check(struct html *g, const struct criterion *c)
{
    html_raw(g, "<h5>");
    html_text(g, html_capital(g->arena, html_is_empty(c->title) ? layout_words(g->arena, c->name)
                                                                : c->title));
    html_raw(g, " ");
    html_verdict(g, c->verdict, NULL);
    html_raw(g, "</h5>\n");
    html_sentence(g, c->because);
    html_sentence(g, arena_printf(g->arena, "Limit: %s (%s)%s",
                                  html_is_empty(c->limit_wording) ? "none" : c->limit_wording,
                                  html_origin(g, c->name, c->origin),
                                  c->own_verdict ? "; this verdict stands by itself and does not "
                                                   "count in that of the window"
                                                 : ""));
}

void html_reasons(struct html *g)
{
    const struct window *w = g->analysis->window;
    html_raw(g, "<h2 id=\"reasons\">Why each setting is what it is</h2>\n");
    for (size_t i = 0; w != NULL && i < w->n_settings; i++)
        reason(g, &w->settings[i]);
    for (size_t i = 0; w != NULL && i < w->n_checks; i++)
        if (!layout_is_approved(&w->checks[i]))
            check(g, &w->checks[i]);
    study_verdicts(g);
}

/* ---- not proven --------------------------------------------------------------------------- */

static void open_setting(struct html *g, const struct window_setting *s)
{
    html_raw(g, "<li><b>");
    html_text(g, title_of(g, s));
    html_raw(g, "</b> ");
    html_verdict(g, s->verdict, NULL);
    html_raw(g, " ");
    /* the whole reason stands above; here only what it says is missing */
    const char *missing = html_is_empty(s->because) ? NULL : strstr(s->because, "Not shown yet");
    if (missing == NULL && !html_is_empty(s->because))
        missing = strstr(s->because, "The criterion behind it is not met");
    if (missing == NULL && !html_is_empty(s->because) && strstr(s->because, ". Why ") != NULL)
        html_raw(g, "The reason stands under <a href=\"#reasons\">Why each setting is what it "
                    "is</a>.");
    else
        html_text(g, html_full_stop(g->arena, missing != NULL ? missing : s->because));
    html_raw(g, "</li>\n");
}

static void open_criterion(struct html *g, const char *whose, const struct criterion *c)
{
    html_raw(g, "<li><b>");
    html_text(g, whose);
    html_raw(g, ":</b> ");
    html_text(g, html_is_empty(c->title) ? layout_words(g->arena, c->name) : c->title);
    if (!html_is_empty(c->limit_wording)) {
        html_raw(g, " (limit ");
        html_text(g, c->limit_wording);
        html_raw(g, ")");
    }
    html_raw(g, " ");
    html_verdict(g, c->verdict, NULL);
    html_raw(g, " ");
    html_text(g, html_full_stop(g->arena, c->because));
    html_text(g, layout_more_shots(g->arena, c));
    html_raw(g, "</li>\n");
}

static size_t open_points(struct html *g, enum verdict v)
{
    const struct window *w = g->analysis->window;
    size_t n = 0;
    for (size_t i = 0; w != NULL && i < w->n_settings; i++)
        if (w->settings[i].verdict == v) {
            open_setting(g, &w->settings[i]);
            n++;
        }
    for (size_t i = 0; w != NULL && i < w->n_checks; i++)
        if (w->checks[i].verdict == v && !layout_is_approved(&w->checks[i])) {
            open_criterion(g, "Window", &w->checks[i]);
            n++;
        }
    for (size_t i = 0; i < g->analysis->n_findings; i++)
        for (size_t k = 0; k < g->analysis->findings[i].n_criteria; k++)
            if (g->analysis->findings[i].criteria[k].verdict == v) {
                open_criterion(g, g->analysis->findings[i].title,
                               &g->analysis->findings[i].criteria[k]);
                n++;
            }
    return n;
}

static void doubt(struct html *g, const char *where, const struct flag *f)
{
    html_raw(g, "<li><b>");
    html_text(g, where);
    html_raw(g, ", ");
    html_text(g, flag_grade_text(f->grade));
    html_raw(g, ":</b> ");
    html_text(g, html_full_stop(g->arena, f->text));
    html_raw(g, "</li>\n");
}

static size_t doubts(struct html *g, enum flag_grade grade)
{
    const struct window *w = g->analysis->window;
    size_t n = 0;
    for (size_t i = 0; i < g->analysis->n_findings; i++)
        for (size_t k = 0; k < g->analysis->findings[i].n_flags; k++)
            if (g->analysis->findings[i].flags[k].grade == grade) {
                doubt(g, g->analysis->findings[i].title, &g->analysis->findings[i].flags[k]);
                n++;
            }
    for (size_t i = 0; w != NULL && i < w->n_flags; i++)
        if (w->flags[i].grade == grade) {
            doubt(g, "Window", &w->flags[i]);
            n++;
        }
    return n;
}

static size_t promises(const struct next_shot *s, size_t n)
{
    size_t count = 0;
    for (size_t k = 0; k < n; k++)
        count += !html_is_empty(s[k].promise);
    return count;
}

static void shots_rows(struct html *g, const char *whose, const struct next_shot *s, size_t n,
                       bool promised)
{
    for (size_t k = 0; k < n; k++) {
        const char *setting = html_is_empty(s[k].setting) ? "setting" : s[k].setting;
        const char *words = layout_words(g->arena, setting);
        html_row_open(g, NULL);
        html_row_head(g, whose);
        html_cell(g, html_is_empty(s[k].series)
                         ? words
                         : arena_printf(g->arena, "%s, for %s", words, s[k].series));
        html_number_cell(g, setting_text(g->arena, g->premises, setting, s[k].dimension, s[k].at));
        html_number_cell(g, arena_printf(g->arena, "%d", s[k].shots));
        bool again = k > 0 && !html_is_empty(s[k].why) && !html_is_empty(s[k - 1].why) &&
                     strcmp(s[k].why, s[k - 1].why) == 0;
        html_cell(g, again ? "As above." : html_full_stop(g->arena, s[k].why));
        if (promised)
            html_cell(g, html_full_stop(g->arena, s[k].promise));
        html_row_close(g);
    }
}

static void shots_table(struct html *g)
{
    static const char *const heads[] = {"Study", "Set", "#To", "#Shots", "Why", "What it promises"};
    const struct window *w = g->analysis->window;
    size_t n = w != NULL ? w->n_next_shots : 0;
    size_t promised = w != NULL ? promises(w->next_shots, w->n_next_shots) : 0;
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        n += f->n_next_shots;
        promised += promises(f->next_shots, f->n_next_shots);
    }
    if (n == 0)
        return;
    html_table_open(g, "shots", "Shots to run next", heads, PL_COUNT(heads) - (promised == 0));
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        shots_rows(g, f->title, f->next_shots, f->n_next_shots, promised > 0);
    }
    if (w != NULL)
        shots_rows(g, "Window", w->next_shots, w->n_next_shots, promised > 0);
    html_table_close(g);
}

void html_not_proven(struct html *g)
{
    const struct window *w = g->analysis->window;
    html_raw(g, "<h2 id=\"not-proven\">What is not proven, and which shots would prove "
                "it</h2>\n<ul>\n");
    size_t n = open_points(g, VERDICT_NOT_MET);
    n += open_points(g, VERDICT_NOT_SHOWN);
    n += doubts(g, FLAG_STOP);
    n += doubts(g, FLAG_DOUBT);
    if (n == 0)
        html_raw(g, "<li>Every criterion that was looked at is met, and no doubt stands beside "
                    "it.</li>\n");
    html_raw(g, "</ul>\n");
    shots_table(g);
    if (w == NULL || w->n_assumptions == 0)
        return;
    html_raw(g, "<h5>Assumed, because nobody measured it</h5>\n<ul>\n");
    for (size_t i = 0; i < w->n_assumptions; i++)
        html_element(g, "li", html_full_stop(g->arena, w->assumptions[i].text));
    html_raw(g, "</ul>\n");
}
