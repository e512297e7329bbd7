/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bytes to text. Expected code points are those of the Unicode Consortium's mapping tables. */
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/base.h"
#include "read/text_decode.h"

struct case_ {
    const char *name, *bytes;
    size_t n;
    const char *asked;    /* encoding of [files], or NULL */
    const char *text;     /* NULL: refused */
    const char *encoding; /* or the code of the refusal */
    bool noted;
    size_t strays;
};

/* a literal with NULs inside, and its length */
#define B(s) s, sizeof(s) - 1

static const struct case_ cases[] = {
    {"plain", B("a,b\n1,2\n"), NULL, "a,b\n1,2\n", "UTF-8", false, 0},
    {"empty", B(""), NULL, "", "UTF-8", false, 0},
    {"utf8",
     B("T [\xC2\xB0"
       "C]"),
     NULL,
     "T [\xC2\xB0"
     "C]",
     "UTF-8", false, 0},
    {"utf8_bom",
     B("\xEF\xBB\xBF"
       "a;b"),
     NULL, "a;b", "UTF-8 with byte order mark", false, 0},
    {"bom_alone", B("\xEF\xBB\xBF"), NULL, "", "UTF-8 with byte order mark", false, 0},
    {"bom_wins_over_asked",
     B("\xEF\xBB\xBF"
       "\xC2\xB5"),
     "Windows-1252", "\xC2\xB5", "UTF-8 with byte order mark", false, 0},
    {"utf16le_bom",
     B("\xFF\xFE"
       "a\0\xB0\0\n\0"),
     NULL, "a\xC2\xB0\n", "UTF-16LE", false, 0},
    {"utf16be_bom",
     B("\xFE\xFF"
       "\0a\0\xB0\0\n"),
     NULL, "a\xC2\xB0\n", "UTF-16BE", false, 0},
    {"utf16le_no_bom", B("a\0,\0b\0\n\0"), NULL, "a,b\n", "UTF-16LE", true, 0},
    {"utf16be_no_bom", B("\0a\0,\0b\0\n"), NULL, "a,b\n", "UTF-16BE", true, 0},
    {"utf16le_asked", B("a\0\x61\x4E"), "UTF-16LE", "a\xE4\xB9\xA1", "UTF-16LE", false, 0},
    {"utf16_surrogates", B("\xFF\xFE\x3D\xD8\x00\xDE"), NULL, "\xF0\x9F\x98\x80", "UTF-16LE", false,
     0},
    {"utf16_lone_surrogate",
     B("\xFF\xFE"
       "a\0\x3D\xD8"
       "b\0"),
     NULL,
     "a\xEF\xBF\xBD"
     "b",
     "UTF-16LE", false, 1},
    {"utf16_cut",
     B("\xFF\xFE"
       "a\0b"),
     NULL, NULL, "file-cut-off", false, 0},
    {"utf16_nul",
     B("\xFF\xFE"
       "a\0\0\0b\0"),
     NULL, NULL, "nul-bytes", false, 0},
    {"cp1252_degree",
     B("T (\xB0"
       "C) \xB5\xB2\xB3\xB1\x96\x80"),
     NULL,
     "T (\xC2\xB0"
     "C) \xC2\xB5\xC2\xB2\xC2\xB3\xC2\xB1\xE2\x80\x93\xE2\x82\xAC",
     "Windows-1252", true, 0},
    {"cp1252_asked", B("\xC2\xB0"), "Windows-1252", "\xC3\x82\xC2\xB0", "Windows-1252", false, 0},
    {"cp1252_unassigned", B("a\n\x81"), NULL, NULL, "encoding-not-known", false, 0},
    {"mixed",
     B("T \xC2\xB0"
       "C\n1 \xB0\n"),
     NULL,
     "T \xC2\xB0"
     "C\n1 \xEF\xBF\xBD\n",
     "UTF-8", false, 1},
    {"utf8_asked_but_stray", B("\xB0"), "UTF-8", "\xEF\xBF\xBD", "UTF-8", false, 1},
    {"nul", B("a,b\n1,\0\0002\n"), NULL, NULL, "nul-bytes", false, 0},
    {"utf32", B("\xFF\xFE\0\0a\0\0\0"), NULL, NULL, "encoding-not-known", false, 0},
    {"xlsx", B("PK\x03\x04\x14\0\x06\0[Content_Types].xml"), NULL, NULL, "not-text", false, 0},
    {"ods", B("PK\x03\x04mimetypeapplication/vnd.oasis.opendocument.spreadsheet"), NULL, NULL,
     "not-text", false, 0},
    {"xls", B("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1\0\0"), NULL, NULL, "not-text", false, 0},
    {"pdf", B("%PDF-1.7\n"), NULL, NULL, "not-text", false, 0},
    {"html", B("\r\n<HTML><table>"), NULL, NULL, "not-text", false, 0},
    {"less_than_is_data", B("<0.5,<html\n"), NULL, "<0.5,<html\n", "UTF-8", false, 0},
    {"png", B("\x89PNG\r\n\x1A\n\0"), NULL, NULL, "not-text", false, 0},
};

static void decodes(void **state)
{
    const struct case_ *c = *state;
    struct arena *a = arena_new();
    struct diag_list diags;
    diag_init(&diags, a);
    char *exact = malloc(c->n > 0 ? c->n : 1);
    assert_non_null(exact);
    memcpy(exact, c->bytes, c->n);
    struct decoded out;
    bool ok = text_decode(a, "x.csv", exact, c->n, c->asked, &out, &diags);
    free(exact);
    assert_int_equal(ok, c->text != NULL);
    assert_int_equal(diags.errors, ok ? 0 : 1);
    if (ok) {
        assert_string_equal(out.s, c->text);
        assert_int_equal(out.length, strlen(c->text));
        assert_string_equal(out.encoding, c->encoding);
        assert_int_equal(out.note != NULL, c->noted);
        assert_int_equal(out.strays, c->strays);
    } else {
        assert_string_equal(diags.items[0].code, c->encoding);
        assert_non_null(diags.items[0].remedy);
    }
    arena_free(a);
}

/* Every byte of Windows-1252 that has a meaning gives that character. */
static void cp1252_table(void **state)
{
    (void)state;
    static const struct {
        unsigned char byte;
        unsigned cp;
    } some[] = {{0x80, 0x20AC}, {0x85, 0x2026}, {0x8A, 0x0160}, {0x91, 0x2018}, {0x92, 0x2019},
                {0x95, 0x2022}, {0x97, 0x2014}, {0x99, 0x2122}, {0x9F, 0x0178}, {0xA0, 0x00A0},
                {0xB5, 0x00B5}, {0xC4, 0x00C4}, {0xFF, 0x00FF}};
    struct arena *a = arena_new();
    for (size_t i = 0; i < PL_COUNT(some); i++) {
        struct diag_list diags;
        diag_init(&diags, a);
        struct decoded out;
        assert_true(text_decode(a, "x", &some[i].byte, 1, NULL, &out, &diags));
        unsigned cp = 0;
        assert_int_equal(utf8_next(out.s, out.length, &cp), out.length);
        assert_int_equal(cp, some[i].cp);
    }
    arena_free(a);
}

static void nul_is_located(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    diag_init(&diags, a);
    struct decoded out;
    assert_false(text_decode(a, "x", B("ab\r\ncd\0\n\0"), NULL, &out, &diags));
    assert_int_equal(diags.items[0].count, 2);
    assert_int_equal(diags.items[0].places[0].line, 2);
    assert_int_equal(diags.items[0].places[0].column_from, 3);
    assert_int_equal(diags.items[0].places[1].line, 3);
    arena_free(a);
}

static void note_names_the_first_byte(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    diag_init(&diags, a);
    struct decoded out;
    assert_true(text_decode(a, "x",
                            B("time,T (\xB0"
                              "C)\n1,2\n3 \xB5,4\n"),
                            NULL, &out, &diags));
    assert_string_equal(out.note_code, "encoding-assumed");
    assert_non_null(strstr(out.note, "2 bytes"));
    assert_non_null(strstr(out.note, "B0 at 1:9"));
    arena_free(a);
}

static void lines_and_places(void **state)
{
    (void)state;
    const char s[] = "one\r\ntw\xC2\xB0o,x\rthree\n";
    size_t next, end = text_line_end(s, strlen(s), 0, &next);
    assert_int_equal(end, 3);
    assert_int_equal(next, 5);
    struct arena *a = arena_new();
    struct diag_place p = text_place(a, s, strlen(s), 2, next, 11, 12);
    assert_int_equal(p.column_from, 6);
    assert_int_equal(p.column_to, 6);
    assert_string_equal(p.source, "tw\xC2\xB0o,x");
    end = text_line_end(s, strlen(s), next, &next);
    assert_int_equal(end, 12);
    assert_int_equal(next, 13);
    end = text_line_end(s, strlen(s), next, &next);
    assert_int_equal(end, 18);
    assert_int_equal(next, 19);
    arena_free(a);
}

/* The minus sign U+2212 has three bytes: what is cut off holds it whole or not at all. */
static void cuts_leave_characters_whole(void **state)
{
    (void)state;
    const char *s = "ab\xE2\x88\x92z";
    const size_t whole[] = {0, 1, 2, 2, 2, 5, 6, 6, 6};
    for (size_t most = 0; most < 9; most++)
        assert_int_equal(utf8_prefix(s, most), whole[most]);
    struct error e = {.code = ERR_NONE};
    char name[sizeof e.message + 1], shown[sizeof e.message + 1];
    for (size_t blank = 0; blank < 3; blank++) {
        memset(name, 'x', sizeof name);
        for (size_t i = blank; i + 3 < sizeof name; i += 3)
            memcpy(name + i, "\xE2\x88\x92", 3);
        name[sizeof name - 1] = '\0';
        e.code = ERR_NONE;
        error_set(&e, "", 0, ERR_INPUT, name, 1, "%s", name);
        const char *both[] = {e.message, e.file};
        for (size_t k = 0; k < 2; k++) {
            unsigned cp;
            size_t n = strlen(both[k]), at = 0, step = 1;
            for (; at < n && step > 0; at += step)
                step = utf8_next(both[k] + at, n - at, &cp);
            assert_int_equal(at, n);
            snprintf(shown, sizeof shown, "%s", name);
            assert_memory_equal(both[k], shown, n);
        }
    }
}

int main(void)
{
    enum { N = PL_COUNT(cases) };
    static struct CMUnitTest tests[N + 5];
    for (size_t i = 0; i < N; i++)
        tests[i] = (struct CMUnitTest){.name = cases[i].name,
                                       .test_func = decodes,
                                       .initial_state = (void *)(uintptr_t)&cases[i]};
    tests[N] = (struct CMUnitTest)cmocka_unit_test(cp1252_table);
    tests[N + 1] = (struct CMUnitTest)cmocka_unit_test(nul_is_located);
    tests[N + 2] = (struct CMUnitTest)cmocka_unit_test(note_names_the_first_byte);
    tests[N + 3] = (struct CMUnitTest)cmocka_unit_test(lines_and_places);
    tests[N + 4] = (struct CMUnitTest)cmocka_unit_test(cuts_leave_characters_whole);
    return _cmocka_run_group_tests("decode", tests, PL_COUNT(tests), NULL, NULL);
}
