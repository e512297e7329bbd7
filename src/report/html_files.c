/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The data as it stood, how it was read, and what the program was given. */
#include <stdlib.h>
#include <string.h>

#include "report/html.h"
#include "report/layout.h"
#include "report/svg.h"

/* ---- raw data ------------------------------------------------------------------------------- */

static size_t widest(const struct premises_file *f)
{
    size_t n = f->n_header;
    for (size_t i = 0; i < f->n_records; i++)
        n = f->records[i].n_cells > n ? f->records[i].n_cells : n;
    return n;
}

static void raw_cell(struct html *g, const struct premises_record *r, size_t i)
{
    const char *cell = i < r->n_cells ? r->cells[i] : NULL;
    if (r->left_out && cell != NULL && *cell != '\0' && r->reason != NULL &&
        strcmp(cell, r->reason) == 0) {
        html_raw(g, "<td class=\"why\">"); /* the reason itself is not struck through */
        html_text(g, cell);
        html_raw(g, "</td>");
        return;
    }
    if (i >= r->n_cells || !(r->repaired != NULL && r->repaired[i])) {
        html_cell(g, cell != NULL ? cell : "");
        return;
    }
    html_raw(g, "<td><span class=\"rep\">");
    html_text(g, cell);
    html_raw(g, "</span><sup title=\"repaired\">\u2020</sup></td>");
}

static void raw_file(struct html *g, const struct premises_file *f)
{
    size_t n = widest(f);
    const char **heads = ARENA_ARRAY(g->arena, const char *, n + 2);
    heads[0] = "#Line";
    for (size_t i = 0; i < n; i++) {
        const char *h = i < f->n_header && f->header[i] != NULL ? f->header[i] : "";
        /* a head that begins with '#' would be taken for one of numbers */
        heads[i + 1] = h[0] == '#' ? arena_printf(g->arena, " %s", h) : h;
    }
    heads[n + 1] = "Left out because";
    html_table_open(g, "raw", f->name, heads, n + 2);
    for (size_t k = 0; k < f->n_records; k++) {
        const struct premises_record *r = &f->records[k];
        html_row_open(g, r->left_out ? "out" : NULL);
        html_raw(g, "<th scope=\"row\" class=\"n\">");
        text_addf(g->out, "%ld</th>", r->line);
        for (size_t i = 0; i < n; i++)
            raw_cell(g, r, i);
        html_raw(g, "<td class=\"why\">");
        if (r->left_out)
            html_text(g, html_is_empty(r->reason) ? "left out, no reason given" : r->reason);
        html_raw(g, "</td>");
        html_row_close(g);
    }
    html_table_close(g);
}

void html_raw_data(struct html *g)
{
    const struct premises *p = g->premises;
    html_raw(g, "<h2 id=\"raw\">Raw data</h2>\n");
    size_t n = 0;
    for (size_t i = 0; p != NULL && i < p->n_files; i++)
        n += p->files[i].n_records > 0;
    if (n == 0) {
        html_sentence(g, "No rows of the files were kept for this page; the files themselves are "
                         "listed with their digests below");
        return;
    }
    html_raw(g, "<p>Cells are shown as they stand in the files. \u2020 marks a cell that was read "
                "with a repair or an assumption; the kinds are listed under \u201cHow the files "
                "were read\u201d. Rows that were left out are struck through, with the "
                "reason.</p>\n");
    for (size_t i = 0; i < p->n_files; i++)
        if (p->files[i].n_records > 0)
            raw_file(g, &p->files[i]);
}

/* ---- how the files were read ------------------------------------------------------------------
 */

static void fact_row(struct html *g, const char *what, const char *value)
{
    if (html_is_empty(value))
        return;
    html_row_open(g, NULL);
    html_row_head(g, what);
    html_cell(g, value);
    html_row_close(g);
}

static void fact_line(struct html *g, const char *what, long line)
{
    fact_row(g, what, line > 0 ? arena_printf(g->arena, "line %ld", line) : "none");
}

static const char *joined(struct arena *a, const char *const *words, size_t n)
{
    struct text t;
    text_init(&t, a);
    for (size_t i = 0; i < n; i++)
        text_addf(&t, "%s%s", i > 0 ? " | " : "", words[i]);
    return t.s;
}

static const char *lines_text(struct arena *a, const struct premises_repair *r)
{
    struct text t;
    text_init(&t, a);
    size_t shown = 0;
    for (size_t i = 0; i < PL_COUNT(r->lines); i++)
        if (r->lines[i] > 0) {
            text_addf(&t, "%s%ld", shown > 0 ? ", " : "", r->lines[i]);
            shown++;
        }
    if (shown > 0 && r->count > shown)
        text_add(&t, ", ...");
    return t.s;
}

static void repairs(struct html *g, const struct premises_file *f)
{
    static const char *const heads[] = {"What was repaired or assumed", "Column", "#Times",
                                        "First lines", "Code"};
    if (f->n_repairs == 0) {
        html_sentence(g, "Nothing was repaired and nothing had to be assumed");
        return;
    }
    html_table_open(g, "repairs", arena_printf(g->arena, "Repairs in %s", f->name), heads,
                    PL_COUNT(heads));
    for (size_t i = 0; i < f->n_repairs; i++) {
        const struct premises_repair *r = &f->repairs[i];
        html_row_open(g, NULL);
        html_row_head(g, html_full_stop(g->arena, r->text));
        html_cell(g, r->column != NULL ? layout_words(g->arena, r->column) : "");
        html_number_cell(g, arena_printf(g->arena, "%zu", r->count));
        html_cell(g, lines_text(g->arena, r));
        html_cell(g, r->code);
        html_row_close(g);
    }
    html_table_close(g);
}

static void excluded(struct html *g, const struct premises_file *f)
{
    if (f->n_excluded == 0)
        return;
    html_raw(g, "<p>Left out by the people who ran the trial:</p>\n<ul>\n");
    for (size_t i = 0; i < f->n_excluded; i++)
        html_element(g, "li",
                     arena_printf(g->arena, "line %ld: %s", f->excluded[i].line,
                                  html_is_empty(f->excluded[i].reason) ? "no reason given"
                                                                       : f->excluded[i].reason));
    html_raw(g, "</ul>\n");
}

#define ROWS_LISTED 40

static bool is_excluded(const struct premises_file *f, long line)
{
    for (size_t i = 0; i < f->n_excluded; i++)
        if (f->excluded[i].line == line)
            return true;
    return false;
}

/* Rows that nobody asked to leave out: averages, remarks, rows without a needed reading. */
static void left_out(struct html *g, const struct premises_file *f)
{
    size_t n = 0;
    for (size_t i = 0; i < f->n_records; i++) {
        const struct premises_record *r = &f->records[i];
        if (!r->left_out || is_excluded(f, r->line))
            continue;
        if (n == 0)
            html_raw(g, "<p>Left out when the file was read:</p>\n<ul>\n");
        if (n++ < ROWS_LISTED)
            html_element(g, "li",
                         arena_printf(g->arena, "line %ld: %s", r->line,
                                      html_is_empty(r->reason) ? "no reason known" : r->reason));
    }
    if (n > ROWS_LISTED)
        html_element(g, "li",
                     arena_printf(g->arena, "and %zu more, all of them in the raw data above",
                                  n - ROWS_LISTED));
    if (n > 0)
        html_raw(g, "</ul>\n");
}

static void reading(struct html *g, const struct premises_file *f)
{
    static const char *const heads[] = {"What", "How it was read"};
    html_table_open(g, "facts", f->name, heads, PL_COUNT(heads));
    fact_row(g, "Study", f->study);
    fact_row(g, "Encoding", f->encoding);
    fact_row(g, "Separator", f->separator);
    fact_row(g, "Decimal mark", f->decimal);
    fact_row(g, "Layout", f->layout);
    fact_line(g, "Header", f->header_line);
    fact_line(g, "Units row", f->units_line);
    fact_row(g, "Units", f->units);
    fact_row(g, "Rows",
             arena_printf(g->arena, "%zu read, %zu kept, %zu left out", f->rows_read, f->rows_used,
                          f->rows_left_out));
    fact_row(g, "Above the header", joined(g->arena, f->preamble, f->n_preamble));
    fact_row(g, "Columns nobody reads", joined(g->arena, f->unused, f->n_unused));
    html_table_close(g);
    repairs(g, f);
    excluded(g, f);
    left_out(g, f);
}

static void criteria_in_force(struct html *g)
{
    static const char *const heads[] = {"Criterion", "Value", "Origin"};
    const struct facts *facts = g->premises->facts;
    bool said = false;
    for (size_t i = 0; facts != NULL && i < facts->n; i++) {
        const struct fact *f = &facts->items[i];
        if (strcmp(f->section, "criteria") != 0)
            continue;
        if (!said)
            html_table_open(g, "facts", "Criteria in force", heads, PL_COUNT(heads));
        said = true;
        html_row_open(g, NULL);
        html_row_head(g, layout_words(g->arena, f->key));
        html_cell(g, f->text);
        html_cell(
            g, f->given ? html_origin(g, f->key, 'G')
                        : arena_printf(g->arena, "default: %s", html_origin(g, f->key, f->origin)));
        html_row_close(g);
    }
    if (said)
        html_table_close(g);
}

/* What trial.ini says besides the criteria and the names on page one. */
static void given_facts(struct html *g)
{
    static const char *const heads[] = {"Section", "Key", "Value", "#Line"};
    const struct facts *facts = g->premises->facts;
    bool said = false;
    for (size_t i = 0; facts != NULL && i < facts->n; i++) {
        const struct fact *f = &facts->items[i];
        if (!f->given || strcmp(f->section, "criteria") == 0 || strcmp(f->section, "trial") == 0)
            continue;
        if (!said)
            html_table_open(g, "facts",
                            arena_printf(g->arena, "What %s says",
                                         facts->file != NULL ? facts->file : "trial.ini"),
                            heads, PL_COUNT(heads));
        said = true;
        html_row_open(g, NULL);
        html_row_head(g, f->section);
        html_cell(g, f->key);
        html_cell(g, f->text);
        html_number_cell(g, f->line > 0 ? arena_printf(g->arena, "%ld", f->line) : "");
        html_row_close(g);
    }
    if (said)
        html_table_close(g);
}

void html_reading(struct html *g)
{
    const struct premises *p = g->premises;
    html_raw(g, "<h2 id=\"reading\">How the files were read</h2>\n");
    if (p == NULL)
        return;
    if (p->single_file)
        html_sentence(g, "One file was analyzed by itself, without a trial.ini: every criterion "
                         "stands at its default");
    for (size_t i = 0; i < p->n_files; i++)
        if (!html_is_empty(p->files[i].study))
            reading(g, &p->files[i]);
    if (p->n_unread > 0)
        html_sentence(g, arena_printf(g->arena, "Files in the folder that no study reads: %s",
                                      joined(g->arena, p->unread, p->n_unread)));
    given_facts(g);
    criteria_in_force(g);
}

/* ---- inputs ------------------------------------------------------------------------------------
 */

void html_record_digest(struct html *g, const char *words)
{
    const char *digest = g->analysis->record_sha256;
    if (html_is_empty(digest))
        return;
    html_raw(g, "<p class=\"hash\">");
    html_text(g, words);
    html_raw(g, "<code>");
    html_text(g, digest);
    html_raw(g, "</code>.</p>\n");
}

void html_inputs(struct html *g)
{
    static const char *const heads[] = {"File", "#Bytes", "SHA-256"};
    static const char *const options[] = {"Option", "Value"};
    const struct premises *p = g->premises;
    html_raw(g, "<h2 id=\"inputs\">Inputs, program and options</h2>\n");
    if (p == NULL)
        return;
    html_table_open(g, "hash", "Inputs", heads, PL_COUNT(heads));
    for (size_t i = 0; i < p->n_files; i++) {
        html_row_open(g, NULL);
        html_row_head(g, p->files[i].name);
        html_number_cell(g, arena_printf(g->arena, "%zu", p->files[i].bytes));
        html_cell(g, p->files[i].sha256);
        html_row_close(g);
    }
    html_table_close(g);
    html_record_digest(g, "The record of this page, record.json beside it, has the SHA-256 ");
    html_table_open(g, "facts", "Program and options", options, PL_COUNT(options));
    fact_row(g, "Program", "plateau " PLATEAU_VERSION);
    fact_row(g, "Confidence", html_percent(g->arena, p->confidence));
    fact_row(g, "Resamples", arena_printf(g->arena, "%d", p->resamples));
    fact_row(g, "Seed", arena_printf(g->arena, "%lu", p->seed));
    html_table_close(g);
    html_raw(g,
             "<p>The same files, options and program version give the same findings: <code>plateau "
             "verify record.json</code> reads them again and says whether they do.</p>\n");
}
