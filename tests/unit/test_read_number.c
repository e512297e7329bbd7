/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The number reader. Values are compared with the C compiler's own reading of the same literal,
 * which is correctly rounded. */
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/base.h"
#include "read/number.h"

struct case_ {
    const char *text;
    enum decimal_mark mark;
    enum number_answer answer;
    double value;
    int decimals;
    const char *rest;
    unsigned repairs;
};

#define OK(text, mark, value, decimals)                                                            \
    {                                                                                              \
        text, mark, NUMBER_OK, value, decimals, "", 0                                              \
    }
#define NO(text, mark, answer)                                                                     \
    {                                                                                              \
        text, mark, answer, 0.0, 0, "", 0                                                          \
    }
#define P MARK_POINT
#define C MARK_COMMA

static const struct case_ cases[] = {
    OK("0", P, 0.0, 0),
    OK("12", MARK_NONE_SEEN, 12.0, 0),
    OK("12.5", P, 12.5, 1),
    OK("12,5", C, 12.5, 1),
    OK(" 12.50 ", P, 12.5, 2),
    OK("+3.0", P, 3.0, 1),
    OK("-0.125", P, -0.125, 3),
    OK("- 5", P, -5.0, 0),
    OK("0.1", P, 0.1, 1),
    OK("31.20", P, 31.20, 2),
    OK("1e5", P, 1e5, -5),
    OK("1.5E3", P, 1500.0, -2),
    OK("1.5e-3", P, 1.5e-3, 4),
    OK("2,5E+01", C, 25.0, 0),
    OK("9007199254740993", P, 9007199254740992.0, 0),
    OK("0.30000000000000004", P, 0.30000000000000004, 17),
    OK("2.2250738585072011e-308", P, 2.2250738585072011e-308, 324),
    OK("1.7976931348623157e308", P, 1.7976931348623157e308, -292),
    OK("\xE2\x88\x92"
       "7.5",
       P, -7.5, 1),
    OK("\xC2\xA0"
       "12.5\xE2\x80\xAF",
       P, 12.5, 1),
    {"\xE2\x80\x93"
     "7.5",
     P, NUMBER_OK, -7.5, 1, "", NUMBER_HAD_DASH},
    {"\xE2\x80\x8B"
     "12\xEF\xBB\xBF.5 g",
     P, NUMBER_OK, 12.5, 1, "g", NUMBER_HAD_INVISIBLE},
    {"12.5 \xE2\x80\x8Eg", P, NUMBER_OK, 12.5, 1, "g", NUMBER_HAD_INVISIBLE},
    {"\xE2\x80\x8B"
     "12.5 bar ",
     P, NUMBER_OK, 12.5, 1, "bar", NUMBER_HAD_INVISIBLE},
    {".5", P, NUMBER_OK, 0.5, 1, "", NUMBER_HAD_BARE_MARK},
    {"5.", P, NUMBER_OK, 5.0, 0, "", NUMBER_HAD_BARE_MARK},
    {",5", C, NUMBER_OK, 0.5, 1, "", NUMBER_HAD_BARE_MARK},
    {"'12.5", P, NUMBER_OK, 12.5, 1, "", NUMBER_HAD_APOSTROPHE},
    /* groups of three */
    {"1,234.5", P, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1.234,5", C, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1,234,567", P, NUMBER_OK, 1234567.0, 0, "", NUMBER_HAD_GROUPS},
    {"1,234", P, NUMBER_OK, 1234.0, 0, "", NUMBER_HAD_GROUPS},
    OK("1,234", C, 1.234, 3),
    {"1 234,5", C, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1\xC2\xA0"
     "234.5",
     P, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1\xE2\x80\xAF"
     "234.5",
     P, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1\xE2\x80\x89"
     "234.5",
     P, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1'234.5", P, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    {"1\xE2\x80\x99"
     "234.5",
     P, NUMBER_OK, 1234.5, 1, "", NUMBER_HAD_GROUPS},
    NO("12,34.5", P, NUMBER_GROUPS),
    NO("1,234,56", P, NUMBER_GROUPS),
    NO("1'23", P, NUMBER_GROUPS),
    NO("1.234.5", P, NUMBER_GROUPS),
    NO("0,123", P, NUMBER_OTHER_MARK),
    NO("1234,567", P, NUMBER_OTHER_MARK),
    NO("12,5", P, NUMBER_OTHER_MARK),
    NO("12.5", C, NUMBER_OTHER_MARK),
    NO("1,234.5", C, NUMBER_OTHER_MARK),
    NO("12.500,00", P, NUMBER_OTHER_MARK),
    /* text behind */
    {"0,85 s", C, NUMBER_OK, 0.85, 2, "s", 0},
    {"12.3psi", P, NUMBER_OK, 12.3, 1, "psi", 0},
    {"12.5 %", P, NUMBER_OK, 12.5, 1, "%", 0},
    {"5\"", P, NUMBER_OK, 5.0, 0, "\"", 0},
    {"12 mm2", P, NUMBER_OK, 12.0, 0, "mm2", 0},
    {"250 1/s", P, NUMBER_OK, 250.0, 0, "1/s", 0},
    {"5 /s", P, NUMBER_OK, 5.0, 0, "/s", 0},
    {"230 \xC2\xB0"
     "C",
     P, NUMBER_OK, 230.0, 0,
     "\xC2\xB0"
     "C",
     0},
    {"12.3*", P, NUMBER_OK, 12.3, 1, "*", 0},
    {"12.3 e", P, NUMBER_OK, 12.3, 1, "e", 0},
    {"12.3 (est)", P, NUMBER_OK, 12.3, 1, "(est)", 0},
    {"1 200 bar", P, NUMBER_OK, 1200.0, 0, "bar", NUMBER_HAD_GROUPS},
    /* limits */
    {"<0.01", P, NUMBER_BELOW, 0.01, 2, "", 0},
    {"< 0,01 mm", C, NUMBER_BELOW, 0.01, 2, "mm", 0},
    {">200", P, NUMBER_ABOVE, 200.0, 0, "", 0},
    {">=200", P, NUMBER_ABOVE, 200.0, 0, "", 0},
    {"\xE2\x89\xA4"
     "0.5",
     P, NUMBER_BELOW, 0.5, 1, "", 0},
    NO("<LOD", P, NUMBER_NO_LIMIT),
    NO(">max", P, NUMBER_NO_LIMIT),
    NO("<", P, NUMBER_NO_LIMIT),
    NO("ovr", P, NUMBER_NO_LIMIT),
    /* missing */
    NO("", P, NUMBER_MISSING),
    NO("  ", P, NUMBER_MISSING),
    {"-", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"--", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"?", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"n/a", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"NA", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"NaN", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {".", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"NULL", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"Not measured", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    {"\xE2\x80\x94", P, NUMBER_MISSING, 0, 0, "", NUMBER_HAD_WORD},
    /* refused */
    NO("#DIV/0!", P, NUMBER_SHEET_ERROR),
    NO("#N/A", P, NUMBER_SHEET_ERROR),
    NO("#WERT!", P, NUMBER_SHEET_ERROR),
    NO("#NV", P, NUMBER_SHEET_ERROR),
    NO("Err:502", P, NUMBER_SHEET_ERROR),
    NO("######", P, NUMBER_SHEET_ERROR),
    NO("2-Jan", P, NUMBER_DATE),
    NO("04.Mrz", P, NUMBER_DATE),
    NO("4. M\xC3\x84RZ", P, NUMBER_DATE),
    NO("Jan 02", P, NUMBER_DATE),
    NO("12 f\xC3\xA9vr. 2026", P, NUMBER_DATE),
    NO("04.03.2026", P, NUMBER_DATE),
    NO("2026-03-04", P, NUMBER_DATE),
    NO("2026-03-04 10:11:12", P, NUMBER_DATE),
    NO("2026-03-04T10:11", P, NUMBER_DATE),
    NO("3/4/26", P, NUMBER_DATE),
    NO("1:23.4", P, NUMBER_CLOCK),
    NO("10:11", P, NUMBER_CLOCK),
    NO("10-12", P, NUMBER_TWO),
    NO("10 \xE2\x80\x93 12", P, NUMBER_TWO),
    NO("12\xC2\xB1"
       "0.5",
       P, NUMBER_TWO),
    NO("12 +0.5", P, NUMBER_TWO),
    NO("3 4", P, NUMBER_TWO),
    NO("12 5,5", C, NUMBER_TWO),
    NO("1/2", P, NUMBER_FRACTION),
    NO("1 3/4", P, NUMBER_FRACTION),
    NO("- 1/2", P, NUMBER_FRACTION),
    NO("11.4 / 11.5", P, NUMBER_TWO),
    NO("1/0", P, NUMBER_TWO),
    NO("~12", P, NUMBER_APPROXIMATE),
    NO("ca. 12", P, NUMBER_APPROXIMATE),
    NO("(12.5)", P, NUMBER_BRACKETS),
    NO("(-12.5)", P, NUMBER_BRACKETS),
    NO("12.5-", P, NUMBER_BRACKETS),
    NO("inf", P, NUMBER_INFINITE),
    NO("-Infinity", P, NUMBER_INFINITE),
    NO("1e999", P, NUMBER_INFINITE),
    NO("1e1000", P, NUMBER_INFINITE),
    NO("0x1A", P, NUMBER_HEX),
    NO("=A1*2", P, NUMBER_FORMULA),
    NO("+SUM(A1)", P, NUMBER_FORMULA),
    NO("@A1", P, NUMBER_FORMULA),
    NO("12\n13", P, NUMBER_LINE_BREAK),
    NO("12345678901234567890123456789012345678901", P, NUMBER_TOO_LONG),
    NO("0.12345678901234567890123456789012345678901234567890123456789", P, NUMBER_TOO_LONG),
    NO("good", P, NUMBER_NOT),
    NO("abc 12", P, NUMBER_NOT),
    NO("+", P, NUMBER_NOT),
    NO("e5", P, NUMBER_NOT),
    NO("\xFF", P, NUMBER_NOT),
    NO("%", P, NUMBER_NOT),
};

static void reads(void **state)
{
    const struct case_ *c = *state;
    size_t n = strlen(c->text);
    char *exact = malloc(n > 0 ? n : 1); /* no NUL behind it: reading past the end shows */
    assert_non_null(exact);
    memcpy(exact, c->text, n);
    struct number out;
    enum number_answer a = number_parse(exact, n, c->mark, &out);
    assert_int_equal(a, c->answer);
    if (a == NUMBER_OK || a == NUMBER_BELOW || a == NUMBER_ABOVE) {
        assert_near(out.value, c->value, 0.0, 0.0);
        assert_int_equal(out.decimals, c->decimals);
        assert_int_equal(out.rest_length, strlen(c->rest));
        assert_memory_equal(out.rest, c->rest, strlen(c->rest));
        if (c->decimals >= 0 && c->decimals < 20)
            assert_lre(out.step, pow(10.0, -c->decimals), 15);
    }
    if (a <= NUMBER_MISSING)
        assert_int_equal(out.repairs, c->repairs);
    free(exact);
}

struct evidence_case {
    const char *text;
    enum number_evidence want;
};

static const struct evidence_case evidence_cases[] = {
    {"12", EVIDENCE_NONE},         {"text", EVIDENCE_NONE},       {"12.5", EVIDENCE_POINT},
    {"12,5", EVIDENCE_COMMA},      {"1,234", EVIDENCE_EITHER},    {"1.234", EVIDENCE_EITHER},
    {"25,123 g", EVIDENCE_EITHER}, {"0,123", EVIDENCE_COMMA},     {"0.123", EVIDENCE_POINT},
    {"1234,567", EVIDENCE_COMMA},  {"1,234.5", EVIDENCE_POINT},   {"1.234,5", EVIDENCE_COMMA},
    {"1,234,567", EVIDENCE_POINT}, {"1.234.567", EVIDENCE_COMMA}, {"04.03.2026", EVIDENCE_NONE},
    {"1,23,4", EVIDENCE_NONE},     {"<0,01", EVIDENCE_COMMA},     {"1.5e3", EVIDENCE_POINT},
    {"0.000", EVIDENCE_POINT},     {"1 234,567", EVIDENCE_COMMA}, {"12.3.4", EVIDENCE_NONE},
    {"", EVIDENCE_NONE},
};

static void tells(void **state)
{
    const struct evidence_case *c = *state;
    assert_int_equal(number_evidence(c->text, strlen(c->text)), c->want);
}

/* Whatever the compiler prints of a double with 17 digits comes back as that very double. */
static void round_trips(void **state)
{
    (void)state;
    unsigned long long x = 88172645463325252ull; /* xorshift64, a fixed stream */
    for (int i = 0; i < 20000; i++) {
        x ^= x << 13, x ^= x >> 7, x ^= x << 17;
        double v = (double)(x >> 11) * pow(10.0, (double)(x % 37) - 24.0) / 9007199254740992.0;
        char text[64];
        snprintf(text, sizeof text, "%.16e", v);
        struct number out;
        assert_int_equal(number_parse(text, strlen(text), MARK_POINT, &out), NUMBER_OK);
        assert_near(out.value, v, 0.0, 0.0);
        *strchr(text, '.') = ',';
        assert_int_equal(number_parse(text, strlen(text), MARK_COMMA, &out), NUMBER_OK);
        assert_near(out.value, v, 0.0, 0.0);
    }
}

/* No byte string of the number alphabet does harm, and what is accepted is finite. */
static void any_bytes_are_safe(void **state)
{
    (void)state;
    static const char alphabet[] = "0123456789..,,  ''+-eE%<>/:\xC2\xA0\xE2\x88\x92\x80\xFFxg#\n";
    unsigned long long x = 1181783497276652981ull;
    for (int i = 0; i < 50000; i++) {
        char text[48];
        size_t n = 0;
        x ^= x << 13, x ^= x >> 7, x ^= x << 17;
        size_t length = x % 20;
        while (n < length) {
            x ^= x << 13, x ^= x >> 7, x ^= x << 17;
            text[n++] = alphabet[x % (sizeof alphabet - 1)];
        }
        char *exact = malloc(n > 0 ? n : 1);
        assert_non_null(exact);
        memcpy(exact, text, n);
        for (int mark = MARK_NONE_SEEN; mark <= MARK_COMMA; mark++) {
            struct number out;
            enum number_answer a = number_parse(exact, n, (enum decimal_mark)mark, &out);
            if (a <= NUMBER_ABOVE) {
                assert_true(isfinite(out.value));
                assert_true(out.rest_length == 0 ||
                            (out.rest >= exact && out.rest + out.rest_length <= exact + n));
            }
        }
        free(exact);
    }
}

int main(void)
{
    enum { N = PL_COUNT(cases), M = PL_COUNT(evidence_cases) };
    static struct CMUnitTest tests[N + M + 2];
    static char names[N + M][96];
    for (size_t i = 0; i < N; i++) {
        snprintf(names[i], sizeof names[i], "number_%zu_%.60s", i, cases[i].text);
        names[i][strcspn(names[i], "\n")] = '\0';
        tests[i] = (struct CMUnitTest){
            .name = names[i], .test_func = reads, .initial_state = (void *)(uintptr_t)&cases[i]};
    }
    for (size_t i = 0; i < M; i++) {
        snprintf(names[N + i], sizeof names[0], "evidence_%zu_%.60s", i, evidence_cases[i].text);
        tests[N + i] = (struct CMUnitTest){.name = names[N + i],
                                           .test_func = tells,
                                           .initial_state = (void *)(uintptr_t)&evidence_cases[i]};
    }
    tests[N + M] = (struct CMUnitTest)cmocka_unit_test(round_trips);
    tests[N + M + 1] = (struct CMUnitTest)cmocka_unit_test(any_bytes_are_safe);
    return _cmocka_run_group_tests("number", tests, PL_COUNT(tests), NULL, NULL);
}
