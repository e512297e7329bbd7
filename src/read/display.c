/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * In which unit people see a dimension: the one they typed, or what [report] units asks for. */
#include <string.h>

#include "plateau/read.h"

static void show_unit(struct display_unit *display, const struct unit *u)
{
    display[u->dimension] = (struct display_unit){u->spelling, u->factor, u->offset};
}

static void show_canonical(struct display_unit *display)
{
    for (size_t d = 0; d < DIM_N; d++)
        display[d] = (struct display_unit){dimension_unit((enum dimension)d), 1.0, 0.0};
    display[DIM_RATIO] = (struct display_unit){"%", 0.01, 0.0}; /* nobody reads 0.001 as 0.1 % */
}

/* A column without a value tells nothing: nobody typed in its unit, and whether its pressures are
 * hydraulic was not looked at. */
static bool has_value(const struct table *t, size_t column)
{
    for (size_t i = 0; i < t->n_rows; i++)
        if (t->rows[i].cells != NULL && t->rows[i].cells[column].kind != CELL_MISSING)
            return true;
    return false;
}

enum { OF_METRIC = 1, OF_US = 2 };

/* Which system a unit belongs to; a second belongs to both. "psi (hydraulic)" is a psi. */
static int systems_of(const struct unit *u)
{
    static const char *const us[] = {
        "in", "in2", "in3",    "ft",     "in/s",  "in3/s", "psi",  "ksi",  "lbf",       "tonf",
        "oz", "lb",  "lb/in3", "lb/ft3", "psi.s", "oz/s",  "lb/h", "degF", "short tonf"};
    static const enum dimension of_both[] = {DIM_TIME, DIM_COUNT, DIM_RATIO, DIM_AGE, DIM_RATE};
    size_t n = strcspn(u->spelling, "(");
    while (n > 0 && u->spelling[n - 1] == ' ')
        n--;
    for (size_t i = 0; i < PL_COUNT(us); i++)
        if (strlen(us[i]) == n && strncmp(us[i], u->spelling, n) == 0)
            return OF_US;
    for (size_t i = 0; i < PL_COUNT(of_both); i++)
        if (u->dimension == of_both[i])
            return OF_METRIC | OF_US;
    return OF_METRIC;
}

/* What was typed in a unit of one of `systems`. */
static void show_as_entered(struct display_unit *display, const struct trial *trial, int systems)
{
    bool seen[DIM_N] = {false};
    for (size_t i = 0; i < trial->n_tables; i++)
        for (size_t j = 0; j < trial->tables[i].n_columns; j++) {
            const struct unit *u = trial->tables[i].columns[j].unit;
            if (u == NULL || seen[u->dimension] || !has_value(&trial->tables[i], j))
                continue;
            seen[u->dimension] = true;
            if ((systems_of(u) & systems) != 0)
                show_unit(display, u);
        }
}

/* Grams stay grams unless ounces were typed: that is what balances beside presses show. */
static void show_us(struct display_unit *display)
{
    static const char *const spellings[] = {"in",    "in2", "in3",        "in/s",
                                            "in3/s", "psi", "short tonf", "degF"};
    for (size_t i = 0; i < PL_COUNT(spellings); i++) {
        const struct unit *u = unit_find(spellings[i], strlen(spellings[i]), NULL);
        if (u != NULL)
            show_unit(display, u);
    }
}

/* Differences and compound units follow the units they are made of, so that a page does not mix
 * degF with K, or psi with MPa.s. */
static void derive_units(struct arena *a, struct display_unit *display)
{
    const struct display_unit *t = &display[DIM_TEMPERATURE];
    const struct display_unit *pressure = &display[DIM_PRESSURE];
    const struct display_unit *mass = &display[DIM_MASS];
    if (t->factor != 1.0)
        display[DIM_TEMPERATURE_STEP] = (struct display_unit){t->name, t->factor, 0.0};
    if (pressure->factor != 1.0)
        display[DIM_VISCOSITY] =
            (struct display_unit){arena_printf(a, "%s.s", pressure->name), pressure->factor, 0.0};
    if (mass->factor != 1.0)
        display[DIM_MASS_RATE] =
            (struct display_unit){arena_printf(a, "%s/s", mass->name), mass->factor, 0.0};
}

void trial_fill_display(struct arena *a, struct trial *trial)
{
    struct display_unit *display = trial->display;
    const char *units = facts_text(&trial->facts, "report", "units");
    show_canonical(display);
    int systems = OF_METRIC | OF_US;
    if (units != NULL && text_same_word(units, "us")) {
        show_us(display);
        systems = OF_US;
    } else if (units != NULL && text_same_word(units, "metric")) {
        systems = OF_METRIC;
    }
    show_as_entered(display, trial, systems);
    derive_units(a, display);
}
