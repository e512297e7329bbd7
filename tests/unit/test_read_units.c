/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Units. The conversion values are those printed in NIST SP 811 (2008), Appendix B.8, seven digits,
 * in SI units; each is brought to our canonical unit here by a power of ten. Values marked "exact"
 * are exact there too.
 */
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "read/units.h"

static const struct unit *find(const char *s)
{
    return unit_find(s, strlen(s), NULL);
}

/* ---- factors ------------------------------------------------------------------------------- */

struct factor_case {
    const char *spelling;
    enum dimension dimension;
    double si;        /* as SP 811 prints it */
    double canonical; /* canonical units in one SI unit */
    double digits;    /* 6 for a value printed with seven digits, 15 where it is exact */
};

static const struct factor_case factor_cases[] = {
    {"s", DIM_TIME, 1.0, 1.0, 15},
    {"ms", DIM_TIME, 1.0E-03, 1.0, 15},
    {"min", DIM_TIME, 6.0E+01, 1.0, 15},   /* minute, exact */
    {"h", DIM_TIME, 3.6E+03, 1.0, 15},     /* hour, exact */
    {"days", DIM_TIME, 8.64E+04, 1.0, 15}, /* day, exact */
    {"mm", DIM_LENGTH, 1.0E-03, 1e3, 15},
    {"cm", DIM_LENGTH, 1.0E-02, 1e3, 15},
    {"m", DIM_LENGTH, 1.0, 1e3, 15},
    {"um", DIM_LENGTH, 1.0E-06, 1e3, 15},    /* micron, exact */
    {"in", DIM_LENGTH, 2.54E-02, 1e3, 15},   /* inch, exact */
    {"thou", DIM_LENGTH, 2.54E-05, 1e3, 14}, /* mil (0.001 in), exact */
    {"mm2", DIM_AREA, 1.0E-06, 1e6, 15},
    {"cm2", DIM_AREA, 1.0E-04, 1e6, 15},
    {"in2", DIM_AREA, 6.4516E-04, 1e6, 15}, /* square inch, exact */
    {"mm3", DIM_VOLUME, 1.0E-09, 1e9, 15},
    {"cm3", DIM_VOLUME, 1.0E-06, 1e9, 15},
    {"l", DIM_VOLUME, 1.0E-03, 1e9, 15},       /* liter, exact */
    {"in3", DIM_VOLUME, 1.638706E-05, 1e9, 6}, /* cubic inch */
    {"g", DIM_MASS, 1.0E-03, 1e3, 15},
    {"mg", DIM_MASS, 1.0E-06, 1e3, 15},
    {"kg", DIM_MASS, 1.0, 1e3, 15},
    {"lb", DIM_MASS, 4.535924E-01, 1e3, 6}, /* pound (avoirdupois) */
    {"oz", DIM_MASS, 2.834952E-02, 1e3, 6}, /* ounce (avoirdupois) */
    {"mm/s", DIM_SPEED, 1.0E-03, 1e3, 15},
    {"cm/s", DIM_SPEED, 1.0E-02, 1e3, 15},
    {"m/s", DIM_SPEED, 1.0, 1e3, 15},
    {"in/s", DIM_SPEED, 2.54E-02, 1e3, 15}, /* inch per second, exact */
    {"mm3/s", DIM_VOLUME_RATE, 1.0E-09, 1e9, 15},
    {"cm3/s", DIM_VOLUME_RATE, 1.0E-06, 1e9, 15},
    {"in3/s", DIM_VOLUME_RATE, 2.731177E-07 * 60, 1e9, 6}, /* cubic inch per minute, times 60 */
    {"MPa", DIM_PRESSURE, 1.0E+06, 1e-6, 15},
    {"bar", DIM_PRESSURE, 1.0E+05, 1e-6, 15}, /* exact */
    {"kPa", DIM_PRESSURE, 1.0E+03, 1e-6, 15},
    {"Pa", DIM_PRESSURE, 1.0, 1e-6, 15},
    {"psi", DIM_PRESSURE, 6.894757E+03, 1e-6, 6},     /* pound-force per square inch */
    {"ksi", DIM_PRESSURE, 6.894757E+06, 1e-6, 6},     /* kip per square inch */
    {"kgf/cm2", DIM_PRESSURE, 9.80665E+04, 1e-6, 15}, /* exact */
    {"kgf/mm2", DIM_PRESSURE, 9.80665E+06, 1e-6, 15}, /* exact */
    {"N/mm2", DIM_PRESSURE, 1.0E+06, 1e-6, 15},
    /* ton-force (2000 lbf) 8.896 443 E+03 N over square inch 6.4516 E-04 m2 = 13.7895 MPa */
    {"short tonf/in2", DIM_PRESSURE, 8.896443E+03 / 6.4516E-04, 1e-6, 6},
    {"kN", DIM_FORCE, 1.0E+03, 1e-3, 15},
    {"N", DIM_FORCE, 1.0, 1e-3, 15},
    {"MN", DIM_FORCE, 1.0E+06, 1e-3, 15},
    {"short tonf", DIM_FORCE, 8.896443E+03, 1e-3, 6},           /* ton-force (2000 lbf) */
    {"long tonf", DIM_FORCE, 4.448222E+00 * 2240.0, 1e-3, 6},   /* 2240 pound-force */
    {"metric tonf", DIM_FORCE, 9.80665E+00 * 1000.0, 1e-3, 15}, /* 1000 kilogram-force */
    {"lbf", DIM_FORCE, 4.448222E+00, 1e-3, 6},                  /* pound-force */
    {"kgf", DIM_FORCE, 9.80665E+00, 1e-3, 15},                  /* kilogram-force, exact */
    {"K", DIM_TEMPERATURE_STEP, 1.0, 1.0, 15},
    {"g/cm3", DIM_DENSITY, 1.0E+03, 1e-3, 15},
    {"kg/m3", DIM_DENSITY, 1.0, 1e-3, 15},
    {"lb/in3", DIM_DENSITY, 2.767990E+04, 1e-3, 6}, /* pound per cubic inch */
    {"lb/ft3", DIM_DENSITY, 1.601846E+01, 1e-3, 6}, /* pound per cubic foot */
    {"mm2/s", DIM_DIFFUSIVITY, 1.0E-06, 1e6, 15},
    {"cm2/s", DIM_DIFFUSIVITY, 1.0E-04, 1e6, 15},
    {"m2/s", DIM_DIFFUSIVITY, 1.0, 1e6, 15},
    {"ft2/h", DIM_DIFFUSIVITY, 2.580640E-05, 1e6, 14}, /* square foot per hour, exact */
    {"1/s", DIM_RATE, 1.0, 1.0, 15},
    {"MPa.s", DIM_VISCOSITY, 1.0E+06, 1e-6, 15},
    {"bar.s", DIM_VISCOSITY, 1.0E+05, 1e-6, 15},
    {"psi.s", DIM_VISCOSITY, 6.894757E+03, 1e-6, 6}, /* pound-force second per square inch */
    {"g/s", DIM_MASS_RATE, 1.0E-03, 1e3, 15},
    {"kg/h", DIM_MASS_RATE, 2.777778E-04, 1e3, 6}, /* kilogram per hour: 1/3600 */
    {"oz/s", DIM_MASS_RATE, 2.834952E-02, 1e3, 6},
    {"lb/h", DIM_MASS_RATE, 1.259979E-04, 1e3, 6}, /* pound per hour */
    {"%", DIM_RATIO, 1.0E-02, 1.0, 15},
};

static void factor_is_sp811(void **state)
{
    const struct factor_case *c = *state;
    const struct unit *u = find(c->spelling);
    assert_non_null(u);
    assert_string_equal(u->spelling, c->spelling);
    assert_int_equal(u->dimension, c->dimension);
    assert_lre(u->factor, c->si * c->canonical, c->digits);
    assert_lre(u->offset, 0.0, 16);
    /* there and back */
    assert_lre(unit_from_canonical(u, 7.25 * u->factor + u->offset), 7.25, 14);
}

/* ---- spellings ------------------------------------------------------------------------------- */

struct spelling_case {
    const char *typed, *unit; /* unit NULL: refused or unknown; "?": refused with a question */
};

static const struct spelling_case spelling_cases[] = {
    /* letter case and abbreviations */
    {"PSI", "psi"},
    {"Psi", "psi"},
    {"psig", "psi"},
    {"lbf/in²", "psi"},
    {"lbs/in^2", "psi"},
    {"P.S.I.", "psi"},
    {"BAR", "bar"},
    {"Bar", "bar"},
    {"Sec", "s"},
    {"secs", "s"},
    {"seconds", "s"},
    {"sec.", "s"},
    {"SEC", "s"},
    {"S", "s"},
    {"msec", "ms"},
    {"Minutes", "min"},
    {"hrs.", "h"},
    {"Kg", "kg"},
    {"KG", "kg"},
    {"kgs", "kg"},
    {"GRAMS", "g"},
    {"G", "g"},
    {"gm", "g"},
    {"lbs.", "lb"},
    {"LB", "lb"},
    {"OZ", "oz"},
    {"oz.", "oz"},
    {"MM", "mm"},
    {"Mm", "mm"},
    {"IN", "in"},
    {"in.", "in"},
    {"inches", "in"},
    {"\"", "in"},
    {"″", "in"},
    {"KN", "kN"},
    {"kn", "kN"},
    {"LBF", "lbf"},
    {"kp", "kgf"},
    {"L", "l"},
    {"mL", "cm3"},
    {"ML", "cm3"},
    {"cc", "cm3"},
    {"CCM", "cm3"},
    {"mpa", "MPa"},
    {"Mpa", "MPa"},
    {"MPA", "MPa"},
    {"kPA", "kPa"},
    {"N", "N"},
    {"MN", "MN"},
    {"m", "m"},
    {"K", "K"},
    {"ksi", "ksi"},
    {"kg/cm²", "kgf/cm2"},
    {"Kgf/cm2", "kgf/cm2"},
    {"N/mm²", "N/mm2"},
    {"percent", "%"},
    {"%", "%"},
    {"per cent", "%"},
    /* speeds and rates */
    {"mm/sec", "mm/s"},
    {"mm / s", "mm/s"},
    {"MM/S", "mm/s"},
    {"mm per s", "mm/s"},
    {"mm per sec.", "mm/s"},
    {"in./sec.", "in/s"},
    {"in/s", "in/s"},
    {"IPS", "in/s"},
    {"cc/s", "cm3/s"},
    {"cm³/s", "cm3/s"},
    {"ccm/s", "cm3/s"},
    {"cu. in./s", "in3/s"},
    {"s^-1", "1/s"},
    {"s⁻¹", "1/s"},
    {"1/s", "1/s"},
    {"MPa·s", "MPa.s"},
    {"MPa*s", "MPa.s"},
    {"MPa s", "MPa.s"},
    {"bar·s", "bar.s"},
    {"g/s", "g/s"},
    /* areas and volumes */
    {"mm²", "mm2"},
    {"mm^2", "mm2"},
    {"in**2", "in2"},
    {"sq. in.", "in2"},
    {"sq in", "in2"},
    {"cu in", "in3"},
    {"in.³", "in3"},
    {"cm³", "cm3"},
    {"g/cm³", "g/cm3"},
    {"g/cc", "g/cm3"},
    {"mm²/s", "mm2/s"},
    /* tons, spelled apart */
    {"short tonf", "short tonf"},
    {"US tons", "short tonf"},
    {"US ton-force", "short tonf"},
    {"tons (US)", "short tonf"},
    {"Short Ton", "short tonf"},
    {"UK tons", "long tonf"},
    {"long ton-force", "long tonf"},
    {"metric tons", "metric tonf"},
    {"tonnes", "metric tonf"},
    {"tonne-force", "metric tonf"},
    {"tf", "metric tonf"},
    {"US tons/in²", "short tonf/in2"},
    /* degree signs: U+00B0, U+00BA, U+02DA, U+2218, one character, words */
    {"degC", "degC"},
    {"deg C", "degC"},
    {"deg. C", "degC"},
    {"deg_C", "degC"},
    {"DEG C", "degC"},
    {"°C", "degC"},
    {"° C", "degC"},
    {"ºC", "degC"},
    {"˚C", "degC"},
    {"∘C", "degC"},
    {"℃", "degC"},
    {"C", "degC"},
    {"c", "degC"},
    {"Celsius", "degC"},
    {"degrees C", "degC"},
    {"°F", "degF"},
    {"ºF", "degF"},
    {"℉", "degF"},
    {"F", "degF"},
    {"degf", "degF"},
    {"deg F", "degF"},
    {"Fahrenheit", "degF"},
    {"\xE2\x84\xAA", "K"}, /* U+212A, the kelvin sign */
    /* UTF-8 read as Latin-1 and saved again */
    {"Â°C", "degC"},
    {"ÂºC", "degC"},
    {"Âµm", "um"},
    {"mmÂ²", "mm2"},
    {"cmÂ³", "cm3"},
    {"Î¼m", "um"},
    {"MPaÂ·s", "MPa.s"},
    {"barÂ\xC2\xA0", "bar"},
    /* micro signs: U+00B5 and U+03BC */
    {"µm", "um"},
    {"μm", "um"},
    {"micron", "um"},
    /* brackets, blanks, invisible characters */
    {"[bar]", "bar"},
    {" ( s ) ", "s"},
    {"[°C]", "degC"},
    {"\xC2\xA0g\xC2\xA0", "g"},
    {"\xE2\x80\x8Bs", "s"},
    {"㎜", "mm"},
    {"㎫", "MPa"},
    /* two readings: a question */
    {"ton", "?"},
    {"tons", "?"},
    {"Tons", "?"},
    {"TONS", "?"},
    {"t", "?"},
    {"T", "?"},
    {"tonf", "?"},
    {"ton-force", "?"},
    {"[tons]", "?"},
    {"tons/in2", "?"},
    {"tsi", "?"},
    {"mPa", "?"},
    {"mPa·s", "?"},
    {"mN", "?"},
    {"mn", "?"},
    {"deg", "?"},
    {"°", "?"},
    {"degrees", "?"},
    {"mil", "?"},
    {"gr", "?"},
    {"psia", "?"},
    {"ppsi", "?"},
    /* not units */
    {"", NULL},
    {" ", NULL},
    {"[]", NULL},
    {"M", NULL},
    {"n", NULL},
    {"k", NULL},
    {"1", NULL},
    {"2", NULL},
    {"c1", NULL},
    {"parsec", NULL},
    {"s2", NULL},
    {"bar/s", NULL},
    {"fl oz", NULL},
    {"Å", NULL},
    {"Âbar", NULL},
    {"\xB0"
     "C",
     NULL},
    {"s\xFF", NULL},
    {"mm3/s2", NULL},
    {"gs", NULL},
    {"m s", NULL},
    {"cavity 1", NULL},
    {"a spelling that is far longer than any unit of the table can be", NULL},
};

static void spelling_is_read(void **state)
{
    const struct spelling_case *c = *state;
    const char *question = "left over";
    const struct unit *u = unit_find(c->typed, strlen(c->typed), &question);
    if (c->unit == NULL || strcmp(c->unit, "?") == 0) {
        assert_null(u);
        assert_int_equal(question != NULL, c->unit != NULL);
        return;
    }
    assert_null(question);
    assert_non_null(u);
    assert_string_equal(u->spelling, c->unit);
}

/* ---- the rest ----------------------------------------------------------------------------------
 */

static void temperatures_have_offsets(void **state)
{
    (void)state;
    /* NIST SP 811 B.8: t/degC = (t/degF - 32)/1.8; melting ice 32, boiling water 212 */
    const struct unit *f = find("degF");
    assert_near(212.0 * f->factor + f->offset, 100.0, 1e-14, 0.0);
    assert_near(32.0 * f->factor + f->offset, 0.0, 0.0, 1e-13);
    assert_near(-40.0 * f->factor + f->offset, -40.0, 1e-14, 0.0);
    assert_near(unit_from_canonical(f, 230.0), 446.0, 1e-14, 0.0);
    assert_near(unit_from_canonical(find("degC"), 230.0), 230.0, 0.0, 0.0);
}

static void only_length_bytes_are_read(void **state)
{
    (void)state;
    assert_string_equal(unit_find("bars of gold", 3, NULL)->spelling, "bar");
    /* cut inside the degree sign: no unit, no reading past the end */
    char *cut = malloc(1);
    cut[0] = '\xC2';
    assert_null(unit_find(cut, 1, NULL));
    free(cut);
    assert_null(unit_find(NULL, 0, NULL));
}

static void force_ton_question_names_all_three(void **state)
{
    (void)state;
    const char *question = NULL;
    assert_null(unit_find("tons", 4, &question));
    assert_non_null(strstr(question, "short tonf"));
    assert_non_null(strstr(question, "long tonf"));
    assert_non_null(strstr(question, "metric tonf"));
    /* 1 short ton-force per square inch, an exact product: 2000 x 4.4482216152605 N / 645.16 mm2 */
    assert_lre(find("short tonf/in2")->factor, 13.789514586336, 13);
}

static struct unit_result ask(enum dimension d, const char *s)
{
    return unit_find_for(d, s, strlen(s));
}

static void dimension_decides(void **state)
{
    (void)state;
    assert_int_equal(ask(DIM_AGE, "h").answer, UNIT_OK);
    assert_lre(ask(DIM_AGE, "h").unit->factor, 1.0, 16);
    assert_lre(ask(DIM_AGE, "min").unit->factor, 1.0 / 60.0, 15);
    assert_lre(ask(DIM_AGE, "days").unit->factor, 24.0, 16);
    assert_lre(ask(DIM_AGE, "s").unit->factor, 1.0 / 3600.0, 15);
    assert_int_equal(ask(DIM_AGE, "ms").answer, UNIT_WRONG_DIMENSION);
    assert_int_equal(ask(DIM_AGE, "h").unit->dimension, DIM_AGE);

    assert_int_equal(ask(DIM_TEMPERATURE_STEP, "K").answer, UNIT_OK);
    assert_lre(ask(DIM_TEMPERATURE_STEP, "°C").unit->factor, 1.0, 16);
    assert_lre(ask(DIM_TEMPERATURE_STEP, "°F").unit->factor, 5.0 / 9.0, 15);
    assert_lre(ask(DIM_TEMPERATURE_STEP, "°F").unit->offset, 0.0, 16);

    assert_int_equal(ask(DIM_TEMPERATURE, "K").answer, UNIT_ASK);
    assert_non_null(strstr(ask(DIM_TEMPERATURE, "K").question, "degC"));
    assert_int_equal(ask(DIM_TEMPERATURE, "degC").answer, UNIT_OK);

    assert_int_equal(ask(DIM_RATIO, "1").answer, UNIT_OK);
    assert_lre(ask(DIM_RATIO, "1").unit->factor, 1.0, 16);
    assert_int_equal(ask(DIM_RATIO, "%").answer, UNIT_OK);
    assert_int_equal(ask(DIM_TIME, "1").answer, UNIT_UNKNOWN);

    assert_int_equal(ask(DIM_FORCE, "tons").answer, UNIT_ASK);
    assert_int_equal(ask(DIM_FORCE, "bar").answer, UNIT_WRONG_DIMENSION);
    assert_string_equal(ask(DIM_FORCE, "bar").unit->spelling, "bar");
    assert_int_equal(ask(DIM_FORCE, "furlong").answer, UNIT_UNKNOWN);
}

/* Every spelling that a message offers must be accepted, and every unit of a dimension that has
 * numbers must be offered. */
static void accepted_are_accepted(void **state)
{
    (void)state;
    for (int d = 0; d < DIM_N; d++) {
        const char *list = unit_accepted((enum dimension)d);
        if (d == DIM_TEXT || d == DIM_COUNT) {
            assert_string_equal(list, "");
            continue;
        }
        assert_true(list[0] != '\0');
        while (*list != '\0') {
            size_t n = strcspn(list, ",");
            struct unit_result r = unit_find_for((enum dimension)d, list, n);
            assert_int_equal(r.answer, UNIT_OK);
            assert_int_equal(r.unit->dimension, d);
            list += n + strspn(list + n, ", ");
        }
    }
    for (size_t i = 0; i < PL_COUNT(factor_cases); i++) {
        const struct factor_case *c = &factor_cases[i];
        /* a day is offered for ages only: no press timer counts in days */
        if (strcmp(c->spelling, "days") != 0)
            assert_non_null(strstr(unit_accepted(c->dimension), c->spelling));
    }
}

/* The canonical unit of every dimension is a unit of the table with factor 1. */
static void canonical_units_are_known(void **state)
{
    (void)state;
    for (int d = 0; d < DIM_N; d++) {
        const char *u = dimension_unit((enum dimension)d);
        if (u[0] == '\0')
            continue;
        struct unit_result r = unit_find_for((enum dimension)d, u, strlen(u));
        assert_int_equal(r.answer, UNIT_OK);
        assert_lre(r.unit->factor, 1.0, 16);
        assert_lre(r.unit->offset, 0.0, 16);
    }
}

#define FIXED 6

int main(void)
{
    static struct CMUnitTest tests[PL_COUNT(factor_cases) + PL_COUNT(spelling_cases) + FIXED];
    static char names[PL_COUNT(factor_cases) + PL_COUNT(spelling_cases)][80];
    const struct CMUnitTest fixed[FIXED] = {
        cmocka_unit_test(temperatures_have_offsets),
        cmocka_unit_test(only_length_bytes_are_read),
        cmocka_unit_test(force_ton_question_names_all_three),
        cmocka_unit_test(dimension_decides),
        cmocka_unit_test(accepted_are_accepted),
        cmocka_unit_test(canonical_units_are_known),
    };
    size_t n = 0;
    for (size_t i = 0; i < PL_COUNT(factor_cases); i++, n++) {
        snprintf(names[n], sizeof names[n], "factor_%s", factor_cases[i].spelling);
        tests[n] = (struct CMUnitTest){.name = names[n],
                                       .test_func = factor_is_sp811,
                                       .initial_state = (void *)(uintptr_t)&factor_cases[i]};
    }
    for (size_t i = 0; i < PL_COUNT(spelling_cases); i++, n++) {
        snprintf(names[n], sizeof names[n], "spelling_%zu_%.40s", i, spelling_cases[i].typed);
        tests[n] = (struct CMUnitTest){.name = names[n],
                                       .test_func = spelling_is_read,
                                       .initial_state = (void *)(uintptr_t)&spelling_cases[i]};
    }
    memcpy(tests + n, fixed, sizeof fixed);
    return _cmocka_run_group_tests("units", tests, PL_COUNT(tests), NULL, NULL);
}
