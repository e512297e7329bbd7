/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Windows-1252 and UTF-16 are decoded here and not by iconv: two short loops that do the same on
 * every machine, with or without the conversion modules of its C library installed. */
#include <string.h>

#include "limits.h"
#include "text_decode.h"

/* ---- places --------------------------------------------------------------------------------- */

size_t text_line_end(const char *s, size_t length, size_t from, size_t *next)
{
    size_t i = from;
    while (i < length && s[i] != '\n' && s[i] != '\r')
        i++;
    *next = i;
    if (i < length)
        *next = i + (s[i] == '\r' && i + 1 < length && s[i + 1] == '\n' ? 2 : 1);
    return i;
}

static int characters(const char *s, size_t n)
{
    int count = 0;
    for (size_t i = 0; i < n; count++) {
        unsigned cp;
        size_t size = utf8_next(s + i, n - i, &cp);
        i += size > 0 ? size : 1;
    }
    return count;
}

/* A line is shown up to so many bytes; beyond, only the place is told. */
#define SHOWN_BYTES 2000

struct diag_place text_place(struct arena *a, const char *s, size_t length, long line, size_t start,
                             size_t at, size_t to)
{
    size_t next, end = text_line_end(s, length, start, &next);
    struct diag_place p = {.line = line};
    if (at < start)
        at = start;
    if (to > end)
        to = end;
    p.column_from = characters(s + start, at - start) + 1;
    p.column_to = to > at ? p.column_from + characters(s + at, to - at) - 1 : p.column_from;
    if (end - start <= SHOWN_BYTES)
        p.source = text_harmless(a, s + start, end - start);
    return p;
}

/* ---- one decoding ------------------------------------------------------------------------------
 */

struct decoding {
    struct arena *arena;
    const char *file;
    const unsigned char *bytes;
    size_t n;
    struct decoded *out;
    struct diag_list *diags;
};

static void refuse(struct decoding *d, const char *code, const struct diag_place *place,
                   const char *message, const char *expected, const char *remedy)
{
    struct diag diag = {.severity = DIAG_ERROR,
                        .code = code,
                        .file = d->file,
                        .message = message,
                        .expected = expected,
                        .remedy = remedy};
    diag_add(d->diags, &diag, place);
}

/* Line and column of a byte, counted in bytes: for files that are no text yet. */
static struct diag_place byte_place(const struct decoding *d, size_t at)
{
    struct diag_place p = {.line = 1};
    size_t start = 0;
    for (size_t i = 0; i < at; i++) {
        bool pair = d->bytes[i] == '\r' && i + 1 < d->n && d->bytes[i + 1] == '\n';
        if (pair || (d->bytes[i] != '\n' && d->bytes[i] != '\r'))
            continue;
        p.line++;
        start = i + 1;
    }
    p.column_from = p.column_to = at - start < 100000 ? (int)(at - start) + 1 : 0;
    return p;
}

/* ---- files that are no text ----------------------------------------------------------------- */

struct magic {
    const char *bytes;
    size_t n;
    const char *what, *remedy;
};

#define SAVE_SHEET                                                                                 \
    "Open it in the spreadsheet and save the sheet as CSV (UTF-8 where it is offered); giving "    \
    "the "                                                                                         \
    "file another name does not change what is in it."
#define EXPORT_AGAIN "Export the data as CSV text."

static const struct magic magics[] = {
    {"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8, "an old workbook or document (.xls, .doc)", SAVE_SHEET},
    {"%PDF-", 5, "a PDF document",
     "A PDF has no table in it that could be read: export the data from where the PDF was made."},
    {"{\\rtf", 5, "a word processor's document (.rtf)", EXPORT_AGAIN},
    {"\x1F\x8B", 2, "a compressed file (.gz)", "Unpack it first."},
    {"7z\xBC\xAF\x27\x1C", 6, "a compressed archive (.7z)", "Unpack it first."},
    {"\x89PNG\r\n\x1A\n", 8, "a picture (.png)", EXPORT_AGAIN},
    {"\xFF\xD8\xFF", 3, "a picture (.jpg)", EXPORT_AGAIN},
    {"SQLite format 3", 15, "a database file", EXPORT_AGAIN},
};

static bool starts_with(const struct decoding *d, size_t at, const char *s, size_t n)
{
    return at + n <= d->n && memcmp(d->bytes + at, s, n) == 0;
}

static bool holds(const struct decoding *d, size_t upto, const char *word)
{
    size_t n = strlen(word);
    for (size_t i = 0; i + n <= d->n && i < upto; i++)
        if (memcmp(d->bytes + i, word, n) == 0)
            return true;
    return false;
}

/* A page or an XML workbook starts with its tag; a `<` anywhere else is data. */
static bool is_markup(const struct decoding *d)
{
    static const char *const tags[] = {"<!doctype", "<html", "<?xml", "<table", "<head", "<body"};
    size_t at = starts_with(d, 0, "\xEF\xBB\xBF", 3) ? 3 : 0;
    while (at < d->n && (d->bytes[at] == ' ' || d->bytes[at] == '\t' || d->bytes[at] == '\r' ||
                         d->bytes[at] == '\n'))
        at++;
    for (size_t i = 0; i < PL_COUNT(tags); i++) {
        size_t n = strlen(tags[i]), j = 0;
        if (at + n > d->n)
            continue;
        for (; j < n; j++) {
            unsigned char c = d->bytes[at + j];
            if ((c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c) != tags[i][j])
                break;
        }
        if (j == n)
            return true;
    }
    return false;
}

static bool refuse_magic(struct decoding *d)
{
    const char *what = NULL, *remedy = SAVE_SHEET;
    if (starts_with(d, 0, "PK\x03\x04", 4) || starts_with(d, 0, "PK\x05\x06", 4)) {
        if (holds(d, 200, "opendocument"))
            what = "a spreadsheet workbook or document (.ods, .odt)";
        else if (holds(d, 4000, "xl/") || holds(d, 4000, "[Content_Types].xml"))
            what = "a spreadsheet workbook (.xlsx)";
        else
            what = "a compressed archive (.zip, .xlsx, .ods)";
    } else if (is_markup(d)) {
        what = "a web page or XML file";
        remedy = "Open it in the spreadsheet or the browser and save the table as CSV.";
    }
    for (size_t i = 0; i < PL_COUNT(magics) && what == NULL; i++)
        if (starts_with(d, 0, magics[i].bytes, magics[i].n)) {
            what = magics[i].what;
            remedy = magics[i].remedy;
        }
    if (what == NULL)
        return false;
    refuse(d, "not-text", NULL, arena_printf(d->arena, "this is %s, not text", what),
           "plain text: comma-separated values, or the lines of a trial.ini", remedy);
    return true;
}

/* ---- UTF-16 --------------------------------------------------------------------------------- */

/* Where all NULs stand: 1 odd places (little endian), 0 even ones; -1 when that is no UTF-16. */
static int nul_side(const struct decoding *d)
{
    size_t odd = 0, even = 0;
    for (size_t i = 0; i < d->n; i++)
        if (d->bytes[i] == 0)
            *(i % 2 == 1 ? &odd : &even) += 1;
    if (odd + even < (d->n * 3 + 9) / 10 || (odd > 0 && even > 0) || d->n < 4)
        return -1;
    return odd > 0 ? 1 : 0;
}

static void put_utf8(struct text *t, unsigned cp)
{
    char c[4];
    size_t n = 0;
    if (cp < 0x80) {
        c[n++] = (char)cp;
    } else if (cp < 0x800) {
        c[n++] = (char)(0xC0 | cp >> 6);
        c[n++] = (char)(0x80 | (cp & 0x3F));
    } else if (cp < 0x10000) {
        c[n++] = (char)(0xE0 | cp >> 12);
        c[n++] = (char)(0x80 | (cp >> 6 & 0x3F));
        c[n++] = (char)(0x80 | (cp & 0x3F));
    } else {
        c[n++] = (char)(0xF0 | cp >> 18);
        c[n++] = (char)(0x80 | (cp >> 12 & 0x3F));
        c[n++] = (char)(0x80 | (cp >> 6 & 0x3F));
        c[n++] = (char)(0x80 | (cp & 0x3F));
    }
    text_add_n(t, c, n);
}

static void note_stray(struct decoded *out, long line)
{
    if (out->strays < PL_COUNT(out->stray_lines))
        out->stray_lines[out->strays] = line;
    out->strays++;
}

static unsigned unit_at(const struct decoding *d, size_t i, bool little)
{
    return little ? (unsigned)d->bytes[i] | (unsigned)d->bytes[i + 1] << 8
                  : (unsigned)d->bytes[i + 1] | (unsigned)d->bytes[i] << 8;
}

static bool decode_utf16(struct decoding *d, size_t from, bool little)
{
    struct text t;
    text_init(&t, d->arena);
    long line = 1;
    for (size_t i = from; i + 1 < d->n; i += 2) {
        unsigned cp = unit_at(d, i, little);
        if (cp >= 0xD800 && cp <= 0xDBFF && i + 3 < d->n) {
            unsigned low = unit_at(d, i + 2, little);
            if (low >= 0xDC00 && low <= 0xDFFF) {
                cp = 0x10000 + ((cp - 0xD800) << 10) + (low - 0xDC00);
                i += 2;
            }
        }
        if (cp >= 0xD800 && cp <= 0xDFFF) {
            cp = 0xFFFD;
            note_stray(d->out, line);
        }
        if (cp == 0) {
            struct diag_place p = {.line = line};
            refuse(d, "nul-bytes", &p, "a NUL character inside the text", "text",
                   "The file is damaged: export it again.");
            return false;
        }
        line += cp == '\n' || (cp == '\r' && (i + 3 >= d->n || unit_at(d, i + 2, little) != '\n'));
        put_utf8(&t, cp);
    }
    if ((d->n - from) % 2 != 0) {
        struct diag_place p = {.line = line};
        refuse(d, "file-cut-off", &p, "the file ends in the middle of a character",
               "an even number of bytes in a UTF-16 file",
               "The file seems cut off: export or copy it again.");
        return false;
    }
    d->out->s = t.s;
    d->out->length = t.length;
    d->out->encoding = little ? "UTF-16LE" : "UTF-16BE";
    return true;
}

/* ---- one byte a character, and UTF-8 -------------------------------------------------------- */

/* Bytes 80 to 9F of Windows-1252; 0: no meaning. */
static const unsigned short cp1252[32] = {
    0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160,
    0x2039, 0x0152, 0,      0x017D, 0,      0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
    0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178};

static bool has_meaning(unsigned char c)
{
    return c < 0x80 || c >= 0xA0 || cp1252[c - 0x80] != 0;
}

static bool decode_cp1252(struct decoding *d, bool asked)
{
    struct text t;
    text_init(&t, d->arena);
    size_t high = 0, first = 0;
    for (size_t i = 0; i < d->n; i++) {
        unsigned char c = d->bytes[i];
        if (!has_meaning(c)) {
            struct diag_place p = byte_place(d, i);
            refuse(d, "encoding-not-known", &p,
                   arena_printf(d->arena, "byte %02X has no meaning in Windows-1252%s", c,
                                asked ? "" : ", and the file is no UTF-8 either"),
                   "UTF-8, UTF-16 or Windows-1252",
                   "Save the file again as CSV in UTF-8, or name its encoding under [files] in "
                   "trial.ini.");
            return false;
        }
        if (c >= 0x80 && high++ == 0)
            first = i;
        put_utf8(&t, c >= 0x80 && c < 0xA0 ? cp1252[c - 0x80] : c);
    }
    d->out->s = t.s;
    d->out->length = t.length;
    d->out->encoding = "Windows-1252";
    if (!asked) {
        struct diag_place p = byte_place(d, first);
        d->out->note_code = "encoding-assumed";
        d->out->note = arena_printf(
            d->arena, "read as Windows-1252: %zu %s beyond ASCII, the first one %02X at %ld:%d",
            high, high == 1 ? "byte" : "bytes", d->bytes[first], p.line, p.column_from);
        d->out->note_count = high;
        d->out->note_lines[0] = p.line;
    }
    return true;
}

static bool refuse_nul(struct decoding *d)
{
    const unsigned char *nul = memchr(d->bytes, 0, d->n);
    if (nul == NULL)
        return false;
    for (size_t i = (size_t)(nul - d->bytes), k = 0; i < d->n; i++) {
        if (d->bytes[i] != 0)
            continue;
        /* the places of the first three are looked up, the rest only counted */
        struct diag_place p = {.line = 0};
        if (k++ < 3)
            p = byte_place(d, i);
        refuse(d, "nul-bytes", &p, "a NUL byte inside the text", "text without NUL bytes",
               "The file is damaged, or is no text: export it again.");
    }
    return true;
}

/* UTF-8 with U+FFFD for every byte that is none. */
static void copy_utf8(struct decoding *d, size_t from, size_t strays)
{
    const char *s = (const char *)d->bytes + from;
    size_t n = d->n - from;
    d->out->length = n + 2 * strays;
    if (strays == 0) {
        d->out->s = arena_copy_n(d->arena, s, n);
        return;
    }
    struct text t;
    text_init(&t, d->arena);
    long line = 1;
    for (size_t i = 0; i < n;) {
        unsigned cp;
        size_t size = utf8_next(s + i, n - i, &cp);
        if (size == 0) {
            note_stray(d->out, line);
            put_utf8(&t, 0xFFFD);
            i++;
            continue;
        }
        line += s[i] == '\n' || (s[i] == '\r' && (i + 1 >= n || s[i + 1] != '\n'));
        text_add_n(&t, s + i, size);
        i += size;
    }
    d->out->s = t.s;
    d->out->length = t.length;
}

static bool decode_bytes(struct decoding *d, size_t from, const char *asked)
{
    const char *s = (const char *)d->bytes;
    size_t good = 0, strays = 0;
    if (refuse_nul(d))
        return false;
    if (asked != NULL && text_same_word(asked, "Windows-1252"))
        return decode_cp1252(d, true);
    for (size_t i = from; i < d->n;) {
        unsigned cp;
        size_t size = utf8_next(s + i, d->n - i, &cp);
        good += size > 1;
        strays += size == 0;
        i += size > 0 ? size : 1;
    }
    if (strays > 0 && good == 0 && from == 0 && asked == NULL)
        return decode_cp1252(d, false);
    copy_utf8(d, from, strays);
    d->out->encoding = from > 0 ? "UTF-8 with byte order mark" : "UTF-8";
    return true;
}

bool text_decode(struct arena *a, const char *file, const void *bytes, size_t n_bytes,
                 const char *encoding, struct decoded *out, struct diag_list *diags)
{
    *out = (struct decoded){.s = "", .encoding = "UTF-8"};
    struct decoding d = {a, file, bytes, n_bytes, out, diags};
    if (n_bytes == 0)
        return true;
    if (n_bytes > LIMIT_FILE_BYTES) {
        refuse(&d, "file-too-large", NULL, arena_printf(a, "the file has %zu bytes", n_bytes),
               "at most 1 GiB", "Split the file.");
        return false;
    }
    if (refuse_magic(&d))
        return false;
    if (starts_with(&d, 0, "\xFF\xFE\0\0", 4) || starts_with(&d, 0, "\0\0\xFE\xFF", 4)) {
        refuse(&d, "encoding-not-known", NULL, "the file is coded in UTF-32",
               "UTF-8, UTF-16 or Windows-1252", "Save the file again as CSV in UTF-8.");
        return false;
    }
    if (starts_with(&d, 0, "\xFF\xFE", 2))
        return decode_utf16(&d, 2, true);
    if (starts_with(&d, 0, "\xFE\xFF", 2))
        return decode_utf16(&d, 2, false);
    if (starts_with(&d, 0, "\xEF\xBB\xBF", 3))
        return decode_bytes(&d, 3, NULL);
    if (encoding != NULL && text_same_word(encoding, "UTF-16LE"))
        return decode_utf16(&d, 0, true);
    if (encoding != NULL && text_same_word(encoding, "UTF-16BE"))
        return decode_utf16(&d, 0, false);
    int side = encoding == NULL ? nul_side(&d) : -1;
    if (side < 0)
        return decode_bytes(&d, 0, encoding);
    if (!decode_utf16(&d, 0, side == 1))
        return false;
    out->note_code = "encoding-assumed";
    out->note = arena_printf(a,
                             "read as %s: it has no byte order mark, but the pattern of its "
                             "bytes is that of UTF-16",
                             out->encoding);
    out->note_count = 1;
    out->note_lines[0] = 1;
    return true;
}
