/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Markup and numbers of the page. */
#include <math.h>
#include <string.h>

#include "report/html.h"
#include "report/layout.h"
#include "report/svg.h"

/* ---- markup ------------------------------------------------------------------------------- */

void html_raw(struct html *g, const char *markup)
{
    text_add(g->out, markup);
}

void html_text(struct html *g, const char *s)
{
    svg_add_escaped(g->out, s);
}

void html_element(struct html *g, const char *tag, const char *text)
{
    text_addf(g->out, "<%s>", tag);
    html_text(g, text);
    text_addf(g->out, "</%s>\n", tag);
}

bool html_is_empty(const char *s)
{
    return s == NULL || *s == '\0';
}

const char *html_full_stop(struct arena *a, const char *text)
{
    size_t n = text == NULL ? 0 : strlen(text);
    if (n == 0)
        return "";
    char *s = arena_printf(a, "%s%s", text, strchr(".!?", text[n - 1]) != NULL ? "" : ".");
    if (s[0] >= 'a' && s[0] <= 'z')
        s[0] = (char)(s[0] - 'a' + 'A');
    return s;
}

const char *html_capital(struct arena *a, const char *text)
{
    char *s = arena_copy(a, text != NULL ? text : "");
    if (s[0] >= 'a' && s[0] <= 'z')
        s[0] = (char)(s[0] - 'a' + 'A');
    return s;
}

void html_sentence(struct html *g, const char *text)
{
    if (!html_is_empty(text))
        html_element(g, "p", html_full_stop(g->arena, text));
}

void html_table_open(struct html *g, const char *kind, const char *caption,
                     const char *const *heads, size_t n)
{
    text_addf(g->out, "<div class=\"box %s\" role=\"region\" tabindex=\"0\" aria-label=\"", kind);
    html_text(g, caption);
    html_raw(g, "\"><table>\n<caption>");
    html_text(g, caption);
    html_raw(g, "</caption>\n<thead><tr>");
    for (size_t i = 0; i < n; i++) {
        bool number = heads[i][0] == '#';
        html_raw(g, number ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\">");
        html_text(g, heads[i] + (number ? 1 : 0));
        html_raw(g, "</th>");
    }
    html_raw(g, "</tr></thead>\n<tbody>\n");
}

void html_card_table_open(struct html *g, const char *kind, const char *caption,
                          const char *const *heads, size_t n)
{
    html_table_open(g, arena_printf(g->arena, "cards %s", kind), caption, heads, n);
    g->labels = heads;
    g->n_labels = n;
}

void html_table_close(struct html *g)
{
    html_raw(g, "</tbody></table></div>\n");
    g->labels = NULL;
    g->n_labels = 0;
}

void html_row_open(struct html *g, const char *kind)
{
    g->column = 0;
    if (kind != NULL)
        text_addf(g->out, "<tr class=\"%s\">", kind);
    else
        html_raw(g, "<tr>");
}

void html_row_close(struct html *g)
{
    html_raw(g, "</tr>\n");
}

void html_row_head(struct html *g, const char *text)
{
    g->column++;
    html_raw(g, "<th scope=\"row\">");
    html_text(g, text);
    html_raw(g, "</th>");
}

void html_cell_open(struct html *g, const char *kind)
{
    html_raw(g, "<td");
    if (kind != NULL)
        text_addf(g->out, " class=\"%s\"", kind);
    if (g->column < g->n_labels) {
        const char *label = g->labels[g->column];
        html_raw(g, " data-label=\"");
        html_text(g, label + (label[0] == '#' ? 1 : 0));
        html_raw(g, "\"");
    }
    html_raw(g, ">");
    g->column++;
}

static void cell(struct html *g, const char *kind, const char *text)
{
    html_cell_open(g, kind);
    html_text(g, text);
    html_raw(g, "</td>");
}

void html_cell(struct html *g, const char *text)
{
    cell(g, NULL, text);
}

void html_plain_cell(struct html *g, const char *text)
{
    cell(g, "i", text);
}

void html_number_cell(struct html *g, const char *text)
{
    cell(g, "n", text);
}

void html_verdict(struct html *g, enum verdict v, const char *words)
{
    static const char *const kinds[] = {"none", "met", "not-shown", "not-met"};
    text_addf(g->out, "<span class=\"v v-%s\">", kinds[v]);
    html_text(g, words != NULL ? words : v == VERDICT_NONE ? "no verdict" : verdict_text(v));
    html_raw(g, "</span>");
}

/* ---- numbers ------------------------------------------------------------------------------ */

int html_decimals(const struct display_unit *u, double v, double low, double high)
{
    double half = (high - low) / 2.0;
    if (!isfinite(half) && isfinite(v) && isfinite(low))
        half = v - low;
    else if (!isfinite(half) && isfinite(v) && isfinite(high))
        half = high - v;
    half = fabs(half / u->factor);
    return isfinite(half) && half > 0.0 ? decimals_for(half) : -1;
}

#define SHORT_DIGITS 5

/* At most `digits` significant digits, without zeros at the end. */
static const char *short_number(struct arena *a, double shown, int digits)
{
    char *s = arena_copy(a, number_text(a, shown, digits));
    if (strchr(s, '.') == NULL || strchr(s, 'e') != NULL)
        return s;
    size_t n = strlen(s);
    while (s[n - 1] == '0')
        s[--n] = '\0';
    if (s[n - 1] == '.')
        s[n - 1] = '\0';
    return s;
}

const char *html_fixed(struct arena *a, double v, int decimals)
{
    struct text t;
    text_init(&t, a);
    text_add_fixed(&t, v, decimals);
    return t.s;
}

static const char *shown_number(struct arena *a, double shown, int decimals)
{
    if (!isfinite(shown))
        return "-";
    if (decimals < 0)
        return short_number(a, shown, SHORT_DIGITS);
    return html_fixed(a, shown, decimals);
}

const char *html_number(struct arena *a, const struct display_unit *u, double v, int decimals)
{
    return shown_number(a, (v - u->offset) / u->factor, decimals);
}

const char *html_difference(struct arena *a, const struct display_unit *u, double v, int decimals)
{
    return shown_number(a, v / u->factor, decimals);
}

/* No gap in front of a missing unit. */
static const char *with_unit(struct arena *a, const struct display_unit *u, const char *number)
{
    if (u->name[0] == '\0' || strcmp(number, "-") == 0)
        return number;
    return arena_printf(a, "%s %s", number, u->name);
}

const char *html_amount(struct arena *a, const struct display_unit *u, double v, int decimals)
{
    return with_unit(a, u, html_number(a, u, v, decimals));
}

const char *html_rounded(struct arena *a, const struct display_unit *u, double v, int digits)
{
    return with_unit(a, u, short_number(a, (v - u->offset) / u->factor, digits));
}

/* Ends of intervals claim no more than was found. */
static double outward(const struct display_unit *u, double v, int decimals, int toward)
{
    if (decimals < 0)
        return v;
    return round_toward((v - u->offset) / u->factor, decimals, toward) * u->factor + u->offset;
}

const char *html_interval(struct arena *a, const struct display_unit *u, double low, double high,
                          int decimals)
{
    bool has_low = isfinite(low), has_high = isfinite(high);
    if (has_low && has_high)
        return arena_printf(a, "%s to %s",
                            html_number(a, u, outward(u, low, decimals, -1), decimals),
                            html_amount(a, u, outward(u, high, decimals, +1), decimals));
    if (has_low)
        return arena_printf(a, "%s%s", html_amount(a, u, low, decimals),
                            isinf(high) ? " and more" : "");
    if (has_high)
        return arena_printf(a, "at most %s", html_amount(a, u, high, decimals));
    return isinf(low) || isinf(high) ? "open" : "";
}

const char *html_head(struct arena *a, const char *title, const struct display_unit *u)
{
    if (u->name[0] == '\0')
        return arena_printf(a, "#%s", title);
    return arena_printf(a, "#%s (%s)", title, u->name);
}

const char *html_place(struct arena *a, const char *file, long line)
{
    if (html_is_empty(file))
        return "";
    return line > 0 ? arena_printf(a, "%s:%ld", file, line) : file;
}

const char *html_percent(struct arena *a, double share)
{
    return arena_printf(a, "%s %%", short_number(a, 100.0 * share, SHORT_DIGITS));
}
