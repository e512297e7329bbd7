/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * number: text -> number. Knows no position, no column and no unit: it returns a reason, and hands
 * the text behind the number back. Locale-free, correctly rounded.
 *
 * Grammar, after blanks and invisible characters are dropped:
 *   number   = [+-] digits [mark digits] [(e|E) [+-] 1-3 digits]
 *   digits   may stand in groups: one to three digits (not starting with 0), then groups of exactly
 *              three, all set off by the same one of blank, no-break or thin space, apostrophe, or
 *              the mark that is not the decimal mark; not in a number with an exponent
 *   `.5` and `5.` are read too. At most NUMBER_LONGEST characters; finite only.
 * U+2212 is a minus; other dashes are one too, as a repair.
 */
#ifndef READ_NUMBER_H
#define READ_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

#define NUMBER_LONGEST 40

enum decimal_mark {
    MARK_NONE_SEEN, /* no cell of the file has a mark: read as MARK_POINT */
    MARK_POINT,
    MARK_COMMA
};

enum number_answer {
    NUMBER_OK,
    NUMBER_BELOW,   /* `<0.01`: value is the limit */
    NUMBER_ABOVE,   /* `>200` */
    NUMBER_MISSING, /* empty or a word for a missing reading */
    /* from here on: refused */
    NUMBER_SHEET_ERROR, /* #DIV/0! */
    NUMBER_DATE,        /* 2-Jan, 04.03.2026 */
    NUMBER_CLOCK,       /* 1:23.4 */
    NUMBER_TWO,         /* 10-12, 12±0.5, 3 4: more than one number */
    NUMBER_FRACTION,    /* 1/2; value is what it comes to */
    NUMBER_APPROXIMATE, /* ~12 */
    NUMBER_BRACKETS,    /* (12.5), 12.5- */
    NUMBER_OTHER_MARK,  /* a number if the other mark were the decimal mark */
    NUMBER_GROUPS,      /* digits grouped otherwise than by three */
    NUMBER_INFINITE,    /* inf, or too large for a double */
    NUMBER_HEX,         /* 0x1A */
    NUMBER_FORMULA,     /* =A1*2 */
    NUMBER_NO_LIMIT,    /* <LOD, >max */
    NUMBER_LINE_BREAK,  /* a line break inside the number's cell */
    NUMBER_TOO_LONG,
    NUMBER_NOT /* none of these: text */
};

enum number_repair {
    NUMBER_HAD_GROUPS = 1u << 0,
    NUMBER_HAD_APOSTROPHE = 1u << 1, /* one in front, as spreadsheets mark text */
    NUMBER_HAD_DASH = 1u << 2,       /* a dash that is no minus sign was read as one */
    NUMBER_HAD_INVISIBLE = 1u << 3,  /* zero-width or direction characters dropped */
    NUMBER_HAD_BARE_MARK = 1u << 4,  /* `.5` or `5.` */
    NUMBER_HAD_WORD = 1u << 5        /* NUMBER_MISSING: a word, not an empty cell */
};

struct number {
    double value;
    int decimals;     /* digits behind the mark less the exponent; negative for 12e3 */
    double step;      /* 10^-decimals: the step of the last digit */
    unsigned repairs; /* enum number_repair */
    const char *rest; /* text behind the number, trimmed; "" length 0 when there is none */
    size_t rest_length;
};

/* Reads n bytes (UTF-8, no NUL needed). `out` is filled in full; value and rest mean something for
 * NUMBER_OK, NUMBER_BELOW and NUMBER_ABOVE only. The caller decides what `rest` may be: a unit, or
 * nothing. */
enum number_answer number_parse(const char *s, size_t n, enum decimal_mark mark,
                                struct number *out);

/* What one cell tells about the file's decimal mark. */
enum number_evidence {
    EVIDENCE_NONE,   /* no number, or the same number either way */
    EVIDENCE_POINT,  /* a number only with decimal point */
    EVIDENCE_COMMA,  /* a number only with decimal comma */
    EVIDENCE_EITHER, /* two different numbers: `1,234` */
};
enum number_evidence number_evidence(const char *s, size_t n);

/* True for an empty or blank cell and for the words of a missing reading: - -- ? n/a NA NaN . null
 * "not measured" and long dashes; letter case does not count. */
bool number_is_missing(const char *s, size_t n);
/* True for #DIV/0! and its like, in several languages. */
bool number_is_sheet_error(const char *s, size_t n);

#endif
