/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text and numbers for SVG and HTML. */
#include <string.h>

#include "report/layout.h"
#include "report/svg.h"

static void add_character(struct text *out, const char *s, size_t n, unsigned cp)
{
    switch (cp) {
    case '&':
        text_add(out, "&amp;");
        return;
    case '<':
        text_add(out, "&lt;");
        return;
    case '>':
        text_add(out, "&gt;");
        return;
    case '"':
        text_add(out, "&quot;");
        return;
    case '\'':
        text_add(out, "&#39;");
        return;
    default:
        break;
    }
    if ((cp & 0xFFFE) == 0xFFFE || (cp >= 0xFDD0 && cp <= 0xFDEF))
        text_addf(out, "\\u%04X", cp); /* no characters; XML forbids some of them */
    else
        text_add_n(out, s, n);
}

void svg_add_escaped(struct text *out, const char *s)
{
    if (s == NULL)
        return;
    const char *safe = text_harmless(out->arena, s, strlen(s));
    size_t length = strlen(safe);
    while (length > 0) {
        unsigned cp = 0;
        size_t n = utf8_next(safe, length, &cp);
        if (n == 0)
            return; /* text_harmless leaves no broken bytes */
        add_character(out, safe, n, cp);
        safe += n;
        length -= n;
    }
}

const char *svg_safe_id(struct arena *a, const char *name)
{
    char *s = arena_copy(a, name != NULL && *name != '\0' ? name : "figure");
    for (char *c = s; *c != '\0'; c++) {
        bool plain = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') ||
                     (*c >= '0' && *c <= '9') || *c == '-' || *c == '_';
        if (!plain)
            *c = '_';
    }
    bool letter = (s[0] >= 'a' && s[0] <= 'z') || (s[0] >= 'A' && s[0] <= 'Z');
    return letter ? s : arena_printf(a, "f%s", s);
}

struct display_unit svg_unit(const struct premises *p, enum dimension d, const char *unit)
{
    if (unit != NULL)
        return (struct display_unit){unit, 1.0, 0.0};
    struct display_unit u = value_unit(p, d);
    if (d == DIM_RATIO && u.name[0] == '\0')
        return (struct display_unit){"%", 0.01, 0.0};
    return u;
}

void svg_add_coordinate(struct text *out, double v)
{
    text_add_fixed(out, v, 2);
}

void svg_add_attribute(struct text *out, const char *name, double v)
{
    text_addf(out, " %s=\"", name);
    svg_add_coordinate(out, v);
    text_add_char(out, '"');
}

/* Advance widths of a wide screen sans, thousandths of the size, from U+0020 on: measured in a
 * browser. The fonts named in the drawing are narrower. */
static const short advance[] = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838,
};

static double character_width(const char *s, size_t n, unsigned cp)
{
    if (cp >= 0x20 && cp < 0x20 + PL_COUNT(advance))
        return advance[cp - 0x20] / 1000.0 * SVG_FONT;
    char one[5] = {0};
    memcpy(one, s, n);
    return 0.85 * (double)utf8_columns(one) * SVG_FONT;
}

double svg_text_width(const char *s)
{
    double width = 0.0;
    size_t length = strlen(s);
    while (length > 0) {
        unsigned cp = 0;
        size_t n = utf8_next(s, length, &cp);
        if (n == 0) {
            n = 1;
            cp = '?';
        }
        width += character_width(s, n, cp);
        s += n;
        length -= n;
    }
    return width;
}

#define ELLIPSIS "..."

const char *svg_fitted(struct arena *a, const char *s, double width)
{
    if (s == NULL)
        return "";
    const char *safe = text_harmless(a, s, strlen(s));
    if (svg_text_width(safe) <= width)
        return safe;
    double room = width - svg_text_width(ELLIPSIS), used = 0.0;
    size_t length = strlen(safe), keep = 0;
    while (keep < length) {
        unsigned cp = 0;
        size_t n = utf8_next(safe + keep, length - keep, &cp);
        if (n == 0)
            break;
        used += character_width(safe + keep, n, cp);
        if (used > room)
            break;
        keep += n;
    }
    while (keep > 0 && safe[keep - 1] == ' ')
        keep--;
    return arena_printf(a, "%.*s" ELLIPSIS, (int)keep, safe);
}
