/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The closed table of units. Factors are those of NIST SP 811 (Guide for the Use of the
 * International System of Units, 2008 edition, Appendix B.8 and B.9), written as products of the
 * constants that are exact by definition, so that no digit of a rounded table is lost.
 *
 * Letter case is not looked at (`PSI`, `Bar`, `mpa`, `Kg` are what people type), with two
 * exceptions. A spelling that is, letter for letter, the symbol of another unit (`mPa`, `mN`) is
 * refused with a question. `m`, `N`, `K`, `MN` would mean something else in the other case: taken
 * as they stand.
 */
#include <string.h>

#include "units.h"

#define INCH 25.4                   /* mm, exact */
#define POUND 453.59237             /* g, exact */
#define GRAVITY 9.80665             /* m/s2, exact: standard acceleration of free fall */
#define LBF (POUND * GRAVITY / 1e3) /* N: 4.4482216152605 */
#define PSI (LBF / (INCH * INCH))   /* N/mm2 = MPa: 0.006894757... */

struct entry {
    struct unit unit;
    /* Further spellings in the plain form that plain_form() makes; `=` before one: this letter case
     * only. The first spelling is unit.spelling itself. */
    const char *names;
};

/* One row a unit. canonical = value * factor + offset. */
static const struct entry entries[] = {
    /* time, to s. NIST SP 811 table 6: min 60 s, h 3600 s, d 86 400 s */
    {{"s", DIM_TIME, 1.0, 0.0}, "sec|secs|second|seconds|sek|sekunden"},
    {{"ms", DIM_TIME, 1e-3, 0.0}, "msec|msecs|millisecond|milliseconds"},
    {{"min", DIM_TIME, 60.0, 0.0}, "mins|minute|minutes"},
    {{"h", DIM_TIME, 3600.0, 0.0}, "hr|hrs|hour|hours"},
    {{"days", DIM_TIME, 86400.0, 0.0}, "day"},

    /* length, to mm. NIST SP 811 B.8: inch 2.54 E-02 m; mil 2.54 E-05 m; micron 1.0 E-06 m */
    {{"mm", DIM_LENGTH, 1.0, 0.0}, "millimeter|millimeters|millimetre|millimetres"},
    {{"cm", DIM_LENGTH, 10.0, 0.0}, "centimeter|centimeters|centimetre|centimetres"},
    {{"m", DIM_LENGTH, 1e3, 0.0}, "=m|meter|meters|metre|metres"},
    {{"um", DIM_LENGTH, 1e-3, 0.0}, "micron|microns|micrometer|micrometers|micrometre|micrometres"},
    {{"in", DIM_LENGTH, INCH, 0.0}, "inch|inches|\""},
    {{"thou", DIM_LENGTH, INCH / 1e3, 0.0}, ""},

    /* area, to mm2. NIST SP 811 B.8: square inch 6.4516 E-04 m2 */
    {{"mm2", DIM_AREA, 1.0, 0.0}, "sq mm|square mm"},
    {{"cm2", DIM_AREA, 100.0, 0.0}, "sq cm|square cm|qcm"},
    {{"in2", DIM_AREA, INCH *INCH, 0.0}, "sq in|square in|sq inch|square inch|square inches"},

    /* volume, to mm3. NIST SP 811 B.8: cubic inch 1.638 706 E-05 m3; liter 1.0 E-03 m3 */
    {{"mm3", DIM_VOLUME, 1.0, 0.0}, "cu mm|cubic mm"},
    {{"cm3", DIM_VOLUME, 1e3, 0.0}, "cc|ccm|ml|cu cm|cubic cm|milliliter|millilitre"},
    {{"l", DIM_VOLUME, 1e6, 0.0}, "liter|liters|litre|litres|dm3"},
    {{"in3", DIM_VOLUME, INCH *INCH *INCH, 0.0}, "cu in|cubic in|cu inch|cubic inch|cubic inches"},

    /* mass, to g. NIST SP 811 B.8: pound (avoirdupois) 4.535 924 E-01 kg; ounce (avoirdupois)
     * 2.834 952 E-02 kg. oz is never a volume here. */
    {{"g", DIM_MASS, 1.0, 0.0}, "gram|grams|gramm|gm|gms|gramme|grammes"},
    {{"mg", DIM_MASS, 1e-3, 0.0}, "milligram|milligrams"},
    {{"kg", DIM_MASS, 1e3, 0.0}, "kgs|kilogram|kilograms|kilo|kilos"},
    {{"lb", DIM_MASS, POUND, 0.0}, "lbs|pound|pounds|lbm"},
    {{"oz", DIM_MASS, POUND / 16.0, 0.0}, "ozs|ounce|ounces"},

    /* speed, to mm/s. NIST SP 811 B.8: inch per second 2.54 E-02 m/s */
    {{"mm/s", DIM_SPEED, 1.0, 0.0}, "mm/sec|mm/second"},
    {{"cm/s", DIM_SPEED, 10.0, 0.0}, "cm/sec"},
    {{"m/s", DIM_SPEED, 1e3, 0.0}, "m/sec"},
    {{"in/s", DIM_SPEED, INCH, 0.0}, "in/sec|inch/s|inch/sec|inches/s|inches/sec|ips|\"/s|\"/sec"},

    /* volume rate, to mm3/s; from the volumes above */
    {{"mm3/s", DIM_VOLUME_RATE, 1.0, 0.0}, "mm3/sec"},
    {{"cm3/s", DIM_VOLUME_RATE, 1e3, 0.0},
     "cm3/sec|cc/s|cc/sec|ccm/s|ccm/sec|ml/s|ml/sec|cu cm/s|cu cm/sec"},
    {{"in3/s", DIM_VOLUME_RATE, INCH *INCH *INCH, 0.0},
     "in3/sec|cu in/s|cu in/sec|cubic in/s|cubic inch/s|cubic inches/s"},

    /* pressure, to MPa. NIST SP 811 B.8: bar 1.0 E+05 Pa; psi 6.894 757 E+03 Pa; ksi 6.894 757
     * E+06 Pa; kilogram-force per square centimeter 9.806 65 E+04 Pa, per square millimeter
     * 9.806 65 E+06 Pa. All are pressures above the air's. */
    {{"MPa", DIM_PRESSURE, 1.0, 0.0}, "megapascal|megapascals"},
    {{"bar", DIM_PRESSURE, 0.1, 0.0}, "bars|barg"},
    {{"kPa", DIM_PRESSURE, 1e-3, 0.0}, "kilopascal|kilopascals"},
    {{"Pa", DIM_PRESSURE, 1e-6, 0.0}, "pascal|pascals"},
    {{"psi", DIM_PRESSURE, PSI, 0.0}, "psig|p.s.i|lbf/in2|lb/in2|lbs/in2|lbf/sq in|lb/sq in"},
    {{"ksi", DIM_PRESSURE, PSI * 1e3, 0.0}, "kpsi|kip/in2"},
    {{"kgf/cm2", DIM_PRESSURE, GRAVITY * 1e-2, 0.0}, "kg/cm2|kp/cm2|kgf/sq cm|kg/sq cm"},
    {{"kgf/mm2", DIM_PRESSURE, GRAVITY, 0.0}, "kg/mm2|kp/mm2"},
    {{"N/mm2", DIM_PRESSURE, 1.0, 0.0}, "n/sq mm"},
    {{"short tonf/in2", DIM_PRESSURE, PSI * 2e3, 0.0},
     "us tonf/in2|us ton/in2|us tons/in2|short ton/in2|short tons/in2|us ton force/in2|"
     "short ton force/in2"},

    /* force, to kN. NIST SP 811 B.8: ton-force (2000 lbf) 8.896 443 E+03 N; pound-force 4.448 222
     * N; kilogram-force 9.806 65 N. Long ton-force: 2240 lbf. Metric: 1000 kgf. */
    {{"kN", DIM_FORCE, 1.0, 0.0}, "kilonewton|kilonewtons"},
    {{"N", DIM_FORCE, 1e-3, 0.0}, "=N|newton|newtons"},
    {{"MN", DIM_FORCE, 1e3, 0.0}, "=MN|meganewton|meganewtons"},
    {{"short tonf", DIM_FORCE, LBF * 2.0, 0.0},
     "short ton|short tons|short tonsf|short ton force|short tons force|us ton|us tons|us tonf|"
     "us ton force|us tons force|uston|ustons|tonf us|ton us|tons us|tonf short|ton short|"
     "tons short|tonf(short)|ton(short)|tons(short)|tonf(us)|ton(us)|tons(us)"},
    {{"long tonf", DIM_FORCE, LBF * 2.24, 0.0},
     "long ton|long tons|long ton force|long tons force|uk ton|uk tons|uk tonf|imperial ton|"
     "imperial tons|tonf long|ton long|tons long|tonf(long)|ton(long)|tons(long)|tonf(uk)"},
    {{"metric tonf", DIM_FORCE, GRAVITY, 0.0},
     "metric ton|metric tons|metric ton force|metric tons force|tonne|tonnes|tonne force|"
     "tonnes force|tonnef|tf|tonf metric|ton metric|tons metric|tonf(metric)|ton(metric)|"
     "tons(metric)"},
    {{"lbf", DIM_FORCE, LBF / 1e3, 0.0}, "pound force|pounds force|lbsf"},
    {{"kgf", DIM_FORCE, GRAVITY / 1e3, 0.0}, "kp|kilogram force|kilograms force"},

    /* temperature, to degC. NIST SP 811 B.8: t/degC = (t/degF - 32)/1.8 */
    {{"degC", DIM_TEMPERATURE, 1.0, 0.0},
     "c|deg celsius|celsius|degrees c|degree c|degrees celsius"},
    {{"degF", DIM_TEMPERATURE, 5.0 / 9.0, -160.0 / 9.0},
     "f|deg fahrenheit|fahrenheit|degrees f|degree f|degrees fahrenheit"},
    /* a difference of temperatures; a kelvin is never read as an absolute temperature */
    {{"K", DIM_TEMPERATURE_STEP, 1.0, 0.0}, "=K|kelvin|kelvins"},

    /* the rest, from the above. NIST SP 811 B.8: pound per cubic inch 2.767 990 E+04 kg/m3, per
     * cubic foot 1.601 846 E+01 kg/m3; square foot per hour 2.580 64 E-05 m2/s */
    {{"g/cm3", DIM_DENSITY, 1.0, 0.0}, "g/cc|g/ccm|g/ml|kg/l|kg/dm3|gm/cc"},
    {{"kg/m3", DIM_DENSITY, 1e-3, 0.0}, ""},
    {{"lb/in3", DIM_DENSITY, POUND / (INCH * INCH * INCH) * 1e3, 0.0}, "lb/cu in|lbs/in3"},
    {{"lb/ft3", DIM_DENSITY, POUND / (INCH * INCH * INCH * 1728.0) * 1e3, 0.0}, "lb/cu ft|lbs/ft3"},
    {{"mm2/s", DIM_DIFFUSIVITY, 1.0, 0.0}, "mm2/sec"},
    {{"cm2/s", DIM_DIFFUSIVITY, 100.0, 0.0}, "cm2/sec"},
    {{"m2/s", DIM_DIFFUSIVITY, 1e6, 0.0}, "=m2/s|m2/sec"},
    {{"ft2/h", DIM_DIFFUSIVITY, 144.0 * INCH *INCH / 3600.0, 0.0}, "ft2/hr|sq ft/h|sq ft/hr"},
    {{"1/s", DIM_RATE, 1.0, 0.0}, "1/sec|s-1|sec-1"},
    {{"MPa.s", DIM_VISCOSITY, 1.0, 0.0}, "mpa s|mpa sec|mpa.sec"},
    {{"bar.s", DIM_VISCOSITY, 0.1, 0.0}, "bar s|bar sec|bar.sec"},
    {{"psi.s", DIM_VISCOSITY, PSI, 0.0}, "psi s|psi sec|psi.sec"},
    {{"g/s", DIM_MASS_RATE, 1.0, 0.0}, "g/sec"},
    {{"kg/h", DIM_MASS_RATE, 1.0 / 3.6, 0.0}, "kg/hr"},
    {{"oz/s", DIM_MASS_RATE, POUND / 16.0, 0.0}, "oz/sec"},
    {{"lb/h", DIM_MASS_RATE, POUND / 3600.0, 0.0}, "lb/hr|lbs/hr|lbs/h"},
    {{"%", DIM_RATIO, 0.01, 0.0}, "percent|per cent|pct|prozent"},
};

/* Units that only unit_find_for gives out: their spelling needs the dimension to be understood. */
static const struct unit age_units[] = {
    {"h", DIM_AGE, 1.0, 0.0},
    {"min", DIM_AGE, 1.0 / 60.0, 0.0},
    {"days", DIM_AGE, 24.0, 0.0},
    {"s", DIM_AGE, 1.0 / 3600.0, 0.0},
};
static const struct unit step_units[] = {
    {"degC", DIM_TEMPERATURE_STEP, 1.0, 0.0},
    {"degF", DIM_TEMPERATURE_STEP, 5.0 / 9.0, 0.0},
};
static const struct unit fraction = {"1", DIM_RATIO, 1.0, 0.0};

/* Spellings with two readings that give different numbers. */
static const struct {
    const char *names, *question;
} questions[] = {
    {"ton|tons|t|tonf|tonsf|ton force|tons force|t force",
     "a ton can be a short ton-force (US, 8.896 kN), a long ton-force (9.964 kN) or a metric "
     "ton-force (9.807 kN): write `short tonf`, `long tonf` or `metric tonf`, or give kN"},
    {"ton/in2|tons/in2|tonf/in2|tsi|ton/sq in|tons/sq in|ton/cm2|tons/cm2|t/cm2|t/in2",
     "a ton can be short (US), long or metric: write `short tonf/in2`, or give psi or MPa"},
    {"=mPa", "mPa is millipascal: write `MPa` for megapascal"},
    {"=mPa.s|=mPas|=mPa s", "mPa.s is millipascal second: write `MPa.s` for megapascal second"},
    {"=mN|=mn|=Mn", "mN is millinewton: write `MN` for meganewton, `N` for newton"},
    {"deg|degs|degree|degrees", "degrees can be Celsius or Fahrenheit: write `degC` or `degF`"},
    {"mil|mils", "a mil can be 0.001 in or, in speech, a millimeter: write `thou` or `mm`"},
    {"gr|grs", "gr is the grain (0.0648 g): write `g` for gram"},
    {"ppsi|hpsi", "write `psi`, and say in the column's name whether it is melt or hydraulic "
                  "pressure (`melt_pressure [psi]`)"},
    {"psia|bara|mpaa",
     "an absolute pressure includes the air's own (1 bar, 14.7 psi): give the pressure above the "
     "air's as `psi`, `bar` or `MPa`"},
};

/* ---- the plain form of a spelling ----------------------------------------------------------- */

#define PLAIN_LONGEST 47

struct plain {
    char s[PLAIN_LONGEST + 1];
    size_t n;
    bool too_long;
};

static void put(struct plain *p, const char *s)
{
    size_t n = strlen(s);
    if (p->n + n > PLAIN_LONGEST) {
        p->too_long = true;
        return;
    }
    memcpy(p->s + p->n, s, n + 1);
    p->n += n;
}

/* Characters that people and programs write for a plain one. The degree signs include the masculine
 * ordinal and the ring above; fullwidth and squared forms come from East Asian keyboards. */
static const char *plain_character(unsigned cp)
{
    static const struct {
        unsigned cp;
        const char *plain;
    } like[] = {
        {0xB0, "deg"},    {0xBA, "deg"},   {0x2DA, "deg"},  {0x2218, "deg"}, {0x1D52, "deg"},
        {0xB5, "u"},      {0x3BC, "u"},    {0xB9, "1"},     {0xB2, "2"},     {0xB3, "3"},
        {0x207B, "-"},    {0x2212, "-"},   {0x2010, "-"},   {0x2011, "-"},   {0x2013, "-"},
        {0xB7, "."},      {0x22C5, "."},   {0x2219, "."},   {0xD7, "."},     {'*', "."},
        {0x2215, "/"},    {0x2044, "/"},   {0xFF0F, "/"},   {0xFF05, "%"},   {0x2103, "degC"},
        {0x2109, "degF"}, {0x212A, "K"},   {0x2033, "\""},  {0x201D, "\""},  {0x339C, "mm"},
        {0x339D, "cm"},   {0x339F, "mm2"}, {0x33A0, "cm2"}, {0x33A3, "mm3"}, {0x33A4, "cm3"},
        {0x338E, "mg"},   {0x338F, "kg"},  {0x33A9, "Pa"},  {0x33AA, "kPa"}, {0x33AB, "MPa"},
        {0x339B, "um"},   {0xA0, " "},     {0x2009, " "},   {0x202F, " "},   {'_', " "},
        {'\t', " "},      {'\n', " "},     {'\r', " "},     {'^', ""},       {0x200B, ""},
        {0x200E, ""},     {0x200F, ""},    {0xFEFF, ""},    {0xAD, ""},
    };
    for (size_t i = 0; i < PL_COUNT(like); i++)
        if (like[i].cp == cp)
            return like[i].plain;
    return NULL;
}

/* UTF-8 that was read as Latin-1 and saved again: the first of the pair is dropped. A closed list,
 * so that a unit that truly begins with one of these letters is left alone. */
static bool is_mojibake(unsigned cp, unsigned next)
{
    if (cp == 0xC2)
        return next == 0xB0 || next == 0xB5 || next == 0xB2 || next == 0xB3 || next == 0xB7 ||
               next == 0xBA || next == 0xB9 || next == 0xA0;
    return cp == 0xCE && next == 0xBC;
}

bool unit_is_respelled(const char *s, size_t length)
{
    for (size_t i = 0; i < length;) {
        unsigned cp = 0, next = 0;
        size_t n = utf8_next(s + i, length - i, &cp);
        if (n == 0)
            return false;
        utf8_next(s + i + n, length - i - n, &next);
        if (cp == 0xBA || cp == 0x2DA || cp == 0x2218 || cp == 0x1D52 || is_mojibake(cp, next))
            return true;
        i += n;
    }
    return false;
}

/* Spelling -> one run of plain characters: look-alikes replaced, outer brackets and blanks off,
 * " per " as "/", no blanks beside "/" or ".", no abbreviation's full stop, "deg C" as "degC". */
static void spell_out(struct plain *p, const char *s, size_t length)
{
    while (length > 0 && !p->too_long) {
        unsigned cp = 0, next = 0;
        size_t n = utf8_next(s, length, &cp);
        if (n == 0) {
            p->too_long = true; /* broken bytes are no unit; they are not guessed at */
            return;
        }
        if (utf8_next(s + n, length - n, &next) > 0 && is_mojibake(cp, next)) {
            s += n;
            length -= n;
            if (cp == 0xCE) { /* the second half is Latin-1's 1/4 sign */
                put(p, "u");
                s += 2;
                length -= 2;
            }
            continue;
        }
        const char *plain = plain_character(cp);
        char one[2] = {(char)(cp < 0x80 ? cp : 0), '\0'};
        if (plain == NULL && cp >= 0x80) {
            p->too_long = true; /* no unit of the table has such a letter */
            return;
        }
        put(p, plain != NULL ? plain : one);
        s += n;
        length -= n;
    }
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static void trim(char *s)
{
    size_t n = strlen(s), from = 0;
    while (n > 0 && s[n - 1] == ' ')
        n--;
    while (from < n && s[from] == ' ')
        from++;
    memmove(s, s + from, n - from);
    s[n - from] = '\0';
    n -= from;
    if (n > 2 && ((s[0] == '[' && s[n - 1] == ']') || (s[0] == '(' && s[n - 1] == ')'))) {
        s[n - 1] = ' ';
        s[0] = ' ';
        trim(s);
    }
}

static bool starts(const char *s, const char *word)
{
    for (; *word != '\0'; s++, word++)
        if ((*s | 0x20) != *word)
            return false;
    return true;
}

static void tighten(char *s)
{
    trim(s);
    char *to = s;
    for (const char *p = s; *p != '\0'; p++) {
        char before = to > s ? to[-1] : '\0', after = p[1];
        bool blank_after = after == ' ' || after == '\0' || after == '/' || after == ')';
        if (*p == ' ' && p > s && starts(p + 1, "per") && p[4] == ' ' && !starts(p + 5, "cent")) {
            *to++ = '/';
            p += 4;
        } else if (*p == ' ' && (after == ' ' || after == '/' || after == '.' || after == '(' ||
                                 after == '-' || before == '/' || before == '.')) {
            continue;
        } else if (*p == ' ' && to - s >= 3 && starts(to - 3, "deg") &&
                   (after == 'C' || after == 'F' || after == 'c' || after == 'f') &&
                   !is_letter(p[2])) {
            continue; /* "deg C" */
        } else if (*p == '.' && is_letter(before) && blank_after) {
            continue; /* "sec.", "cu. in." */
        } else if (*p == '.' && after == '.') {
            continue; /* "in**2" */
        } else if (*p == '.' && after >= '0' && after <= '9') {
            continue; /* "in**2" once more */
        } else if (*p == '-' && is_letter(after)) {
            *to++ = ' '; /* "ton-force" */
        } else {
            *to++ = *p;
        }
    }
    *to = '\0';
}

/* False when `s` cannot be a unit. */
static bool plain_form(struct plain *p, const char *s, size_t length)
{
    *p = (struct plain){.n = 0};
    spell_out(p, s, length);
    if (p->too_long)
        return false;
    tighten(p->s);
    return p->s[0] != '\0';
}

/* ---- looking up -------------------------------------------------------------------------------
 */

static bool same_letters(const char *a, const char *b, size_t n, bool exact)
{
    for (size_t i = 0; i < n; i++) {
        char x = a[i], y = b[i];
        if (!exact && x >= 'A' && x <= 'Z')
            x = (char)(x - 'A' + 'a');
        if (!exact && y >= 'A' && y <= 'Z')
            y = (char)(y - 'A' + 'a');
        if (x != y)
            return false;
    }
    return true;
}

/* Is `s` one of the words of "a|b|=c"? */
static bool in_names(const char *names, const char *s)
{
    size_t n = strlen(s);
    while (*names != '\0') {
        bool exact = *names == '=';
        names += exact;
        size_t m = strcspn(names, "|");
        if (m == n && same_letters(names, s, n, exact))
            return true;
        names += m + (names[m] == '|');
    }
    return false;
}

/* Units whose spelling is a case of its own say so by listing it with `=` first. */
static bool is_spelling(const struct entry *e, const char *s)
{
    if (e->names[0] != '=' && text_same_word(e->unit.spelling, s))
        return true;
    return in_names(e->names, s);
}

const struct unit *unit_find(const char *s, size_t length, const char **ambiguous)
{
    struct plain p;
    if (ambiguous != NULL)
        *ambiguous = NULL;
    if (!plain_form(&p, s, length))
        return NULL;
    for (size_t i = 0; i < PL_COUNT(questions); i++)
        if (in_names(questions[i].names, p.s)) {
            if (ambiguous != NULL)
                *ambiguous = questions[i].question;
            return NULL;
        }
    for (size_t i = 0; i < PL_COUNT(entries); i++)
        if (is_spelling(&entries[i], p.s))
            return &entries[i].unit;
    return NULL;
}

/* The same spelling among the units that need their dimension, or NULL. */
static const struct unit *respell(const struct unit *units, size_t n, const char *spelling)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(units[i].spelling, spelling) == 0)
            return &units[i];
    return NULL;
}

struct unit_result unit_find_for(enum dimension d, const char *s, size_t length)
{
    const char *question = NULL;
    const struct unit *u = unit_find(s, length, &question);
    if (question != NULL)
        return (struct unit_result){UNIT_ASK, NULL, question};
    if (u == NULL) {
        struct plain p;
        if (d == DIM_RATIO && plain_form(&p, s, length) && strcmp(p.s, "1") == 0)
            return (struct unit_result){UNIT_OK, &fraction, NULL};
        return (struct unit_result){UNIT_UNKNOWN, NULL, NULL};
    }
    if (u->dimension == d)
        return (struct unit_result){UNIT_OK, u, NULL};
    const struct unit *other = NULL;
    if (d == DIM_AGE && u->dimension == DIM_TIME)
        other = respell(age_units, PL_COUNT(age_units), u->spelling);
    else if (d == DIM_TEMPERATURE_STEP && u->dimension == DIM_TEMPERATURE)
        other = respell(step_units, PL_COUNT(step_units), u->spelling);
    else if (d == DIM_TEMPERATURE && u->dimension == DIM_TEMPERATURE_STEP)
        return (struct unit_result){UNIT_ASK, u,
                                    "K is read as a difference of temperatures only: give the "
                                    "temperature itself in degC or degF"};
    if (other != NULL)
        return (struct unit_result){UNIT_OK, other, NULL};
    return (struct unit_result){UNIT_WRONG_DIMENSION, u, NULL};
}

const char *unit_accepted(enum dimension d)
{
    static const char *const accepted[DIM_N] = {
        [DIM_TEXT] = "",
        [DIM_COUNT] = "",
        [DIM_RATIO] = "%",
        [DIM_TIME] = "s, ms, min, h",
        [DIM_LENGTH] = "mm, cm, m, um, in, thou",
        [DIM_AREA] = "mm2, cm2, in2",
        [DIM_VOLUME] = "cm3, mm3, ml, l, in3",
        [DIM_MASS] = "g, mg, kg, oz, lb",
        [DIM_SPEED] = "mm/s, cm/s, m/s, in/s",
        [DIM_VOLUME_RATE] = "cm3/s, mm3/s, in3/s",
        [DIM_PRESSURE] = "bar, MPa, kPa, Pa, psi, ksi, kgf/cm2, kgf/mm2, N/mm2, short tonf/in2",
        [DIM_FORCE] = "kN, N, MN, short tonf, long tonf, metric tonf, lbf, kgf",
        [DIM_TEMPERATURE] = "degC, degF",
        [DIM_TEMPERATURE_STEP] = "K, degC, degF",
        [DIM_DENSITY] = "g/cm3, kg/m3, lb/in3, lb/ft3",
        [DIM_DIFFUSIVITY] = "mm2/s, cm2/s, m2/s, ft2/h",
        [DIM_RATE] = "1/s",
        [DIM_VISCOSITY] = "MPa.s, bar.s, psi.s",
        [DIM_AGE] = "h, min, days",
        [DIM_MASS_RATE] = "g/s, kg/h, oz/s, lb/h",
    };
    return accepted[d];
}

double unit_from_canonical(const struct unit *u, double v)
{
    return (v - u->offset) / u->factor;
}
