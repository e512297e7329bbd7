/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * report/index.html: the order of the page, its head, and who ran what on what. */
#include <math.h>
#include <string.h>

#include "report/html.h"
#include "report/layout.h"

static const char *trial(const struct html *g, const char *key)
{
    return g->premises != NULL ? facts_text(g->premises->facts, "trial", key) : NULL;
}

const char *html_title(const struct html *g)
{
    const char *s = trial(g, "title");
    return html_is_empty(s) ? "Trial of an injection mold" : s;
}

#define FOOT_TITLE 70  /* characters */
#define FOOT_DIGEST 16 /* of 64 */

/* A string of CSS. Anything but letters, digits and blanks is written as its number, so that
 * nothing a user writes can end the string or the style. */
static void css_string(struct html *g, const char *s)
{
    const char *safe = layout_safe(g->arena, s);
    size_t characters = 0;
    html_raw(g, "\"");
    for (; *safe != '\0'; safe++) {
        unsigned char c = (unsigned char)*safe;
        characters += (c & 0xC0) != 0x80;
        if (characters > FOOT_TITLE) {
            html_raw(g, " ...");
            break;
        }
        bool plain = c >= 0x80 || c == ' ' || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ||
                     (c >= 'a' && c <= 'z');
        if (plain)
            text_add_char(g->out, (char)c);
        else
            text_addf(g->out, "\\%x ", c); /* the blank belongs to the number */
    }
    html_raw(g, "\"");
}

/* On every sheet of paper: whose it is, which record it belongs to, and that none is missing. */
static void page_foot(struct html *g)
{
    const char *digest = g->analysis->record_sha256;
    html_raw(g, "@page{@bottom-left{font:8pt sans-serif;content:");
    css_string(g, html_title(g));
    html_raw(g, "}@bottom-center{font:8pt sans-serif;content:");
    css_string(g, digest == NULL ? "" : arena_printf(g->arena, "record %.*s", FOOT_DIGEST, digest));
    html_raw(g, "}@bottom-right{font:8pt sans-serif;content:\"page \" counter(page) \" of \" "
                "counter(pages)}}\n");
}

static void head(struct html *g)
{
    html_raw(g, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n"
                "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                "style-src 'unsafe-inline'\">\n<title>");
    html_text(g, html_title(g));
    html_raw(g, "</title>\n<style>\n");
    html_raw(g, html_style);
    html_raw(g, html_style_media);
    page_foot(g);
    html_raw(g, "</style>\n</head>\n<body>\n");
}

/* ---- identification ----------------------------------------------------------------------- */

static void identification(struct html *g)
{
    static const struct {
        const char *key, *label;
    } rows[] = {
        {"mold", "Mold"},         {"part", "Part"},     {"press", "Press"},
        {"material", "Material"}, {"lot", "Lot"},       {"date", "Date"},
        {"author", "Run by"},     {"reason", "Reason"}, {"protocol", "Protocol"},
    };
    html_raw(g, "<header>\n<h1>");
    html_text(g, html_title(g));
    html_raw(g, "</h1>\n");
    static const char *const heads[] = {"What", "Which"};
    bool said = false;
    for (size_t i = 0; i < PL_COUNT(rows); i++) {
        const char *value = trial(g, rows[i].key);
        if (html_is_empty(value))
            continue;
        if (!said)
            html_table_open(g, "facts", "Identification", heads, PL_COUNT(heads));
        said = true;
        html_row_open(g, NULL);
        html_row_head(g, rows[i].label);
        html_cell(g, value);
        html_row_close(g);
    }
    if (said)
        html_table_close(g);
    else
        html_sentence(g, "Mold, part, press and material are not named: write them into "
                         "trial.ini, section [trial]");
    html_raw(g, "</header>\n");
}

static void contents(struct html *g)
{
    html_raw(g, "<nav aria-label=\"Contents\"><ul>"
                "<li><a href=\"#settings\">Settings</a></li>"
                "<li><a href=\"#reasons\">Why</a></li>"
                "<li><a href=\"#not-proven\">What is not proven</a></li>"
                "<li><a href=\"#evidence\">Evidence</a></li>"
                "<li><a href=\"#raw\">Raw data</a></li>"
                "<li><a href=\"#reading\">How the files were read</a></li>"
                "<li><a href=\"#cautions\">Cautions</a></li>"
                "<li><a href=\"#methods\">What was done</a></li>"
                "<li><a href=\"#inputs\">Inputs</a></li>"
                "<li><a href=\"#sign-off\">Sign-off</a></li>"
                "</ul></nav>\n");
}

void report_html(struct text *out, const struct analysis *a)
{
    struct html g = {.out = out, .arena = out->arena, .analysis = a, .premises = a->premises};
    head(&g);
    html_raw(&g, "<main>\n<div class=\"page-one\">\n");
    identification(&g);
    contents(&g);
    html_settings(&g);
    html_raw(&g, "</div>\n");
    html_reasons(&g);
    html_not_proven(&g);
    html_evidence(&g);
    html_raw_data(&g);
    html_reading(&g);
    html_cautions(&g);
    html_methods(&g);
    html_inputs(&g);
    html_sign_off(&g);
    html_raw(&g, "</main>\n</body>\n</html>\n");
}
