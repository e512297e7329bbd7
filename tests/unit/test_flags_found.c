/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Flags that no other test of their study provokes, each from a file with the trouble it names. */
#include "suspicion_cases.h"

#define MELT "[press]\npressure_basis = melt\n"

/* Ten speeds of three shots in mixed order, t = 0.05 s + 60 mm / speed, p = 60 MPa t^-0.3. */
struct fills {
    double slow;       /* the fastest takes so many times as long as it should */
    double off, first; /* factors on the pressure at 33 mm/s, of every first shot */
};

static const char *fills_csv(const struct fills *c)
{
    static const int speed[10] = {60, 20, 140, 12, 90, 33, 240, 14, 45, 26};
    struct sim_stream r = {11};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "injection speed [mm/s],fill time [s],transfer pressure [MPa]\n");
    for (size_t i = 0; i < PL_COUNT(speed); i++)
        for (int k = 0; k < 3; k++) {
            double time = (0.05 + 60.0 / speed[i]) * exp(0.001 * sim_normal(&r));
            double p = 60.0 * pow(time, -0.3) * exp(0.001 * sim_normal(&r));
            p *= (speed[i] == 33 ? c->off : 1.0) * (k == 0 ? c->first : 1.0);
            text_addf(&t, "%d,%.4f,%.3f\n", speed[i], time * (speed[i] == 240 ? c->slow : 1.0), p);
        }
    return t.s;
}

static struct finding fills(const struct fills *c)
{
    return run_study(arena, "viscosity", fills_csv(c), MELT);
}

static const struct fills right = {1.0, 1.0, 1.0};

static void fills_without_trouble(void **state)
{
    (void)state;
    struct finding f = fills(&right);
    static const char *const none[] = {"speed-not-reached", "misfit",
                                       "first-shots",       "knee-not-reached",
                                       "knee-below-range",  "peak-below-transfer"};
    for (size_t i = 0; i < PL_COUNT(none); i++)
        assert_none(&f, none[i]);
}

static void a_speed_the_press_does_not_reach(void **state)
{
    (void)state;
    struct fills c = right;
    c.slow = 1.5;
    struct finding f = fills(&c);
    ASSERT_FLAG(&f, "speed-not-reached", "viscosity.csv", 20, "at 240 mm/s the fill takes ",
                "longer than the slower speeds promise");
}

static void a_speed_off_the_curve(void **state)
{
    (void)state;
    struct fills c = right;
    c.off = 1.12;
    struct finding f = fills(&c);
    ASSERT_FLAG(&f, "misfit", "", 0, "of viscosity_tolerance from the ");
}

static void first_shots_that_take_more(void **state)
{
    (void)state;
    struct fills c = right;
    c.first = 1.03;
    struct finding f = fills(&c);
    ASSERT_FLAG(&f, "first-shots", "", 0, "the first shot of a condition takes ", " % more",
                "on average over 10 conditions");
}

/* Where the pressure does not change with speed until the fastest fills, viscosity falls steeply
 * to the end; where pressure x fill time is nearly constant from the slowest on, not at all. */
static void knees_outside_the_range(void **state)
{
    (void)state;
    struct finding f = run_study(arena, "viscosity",
                                 "injection speed [mm/s],fill time [s],transfer pressure [MPa]\n"
                                 "40,1.00,50.0\n40,1.00,50.1\n20,2.00,43.5\n20,2.00,43.6\n",
                                 MELT "[criteria]\nviscosity_tolerance = 0.1 %\n");
    ASSERT_FLAG(&f, "knee-not-reached", "", 0, "a slower fill still changes viscosity by");
    f = run_study(arena, "viscosity",
                  "injection speed [mm/s],fill time [s],transfer pressure [MPa]\n"
                  "40,1.00,50.0\n40,1.00,50.1\n20,2.00,43.5\n20,2.00,43.6\n",
                  MELT "[criteria]\nviscosity_tolerance = 45 %\n");
    ASSERT_FLAG(&f, "knee-below-range", "", 0, "2 s, the slowest tested fill, on");
}

/* A shot without the weight of one cavity is no shot to compare. */
static void a_cavity_without_weight(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight c1 [g],weight c2 [g]\n");
    static const int hold[] = {6, 3, 8, 4, 2, 7, 5, 9, 6};
    struct sim_stream r = {3};
    for (size_t i = 0; i < 27; i++) {
        double w = sim_weight(SIM_EXPONENTIAL, hold[i / 3]);
        text_addf(&t, i == 7 ? "%d,%.3f,\n" : "%d,%.3f,%.3f\n", hold[i / 3],
                  w + 0.005 * sim_normal(&r), w + 0.005 * sim_normal(&r));
    }
    struct finding f = run_study(arena, "gate-freeze", t.s, "");
    ASSERT_FLAG(&f, "incomplete-shots", "", 0, "1 shot lacks the weight of a cavity");
}

/* Another column taken for the pressure, bar for MPa: the use would be met, and is wrong. */
static void hardly_any_pressure_is_no_filling(void **state)
{
    (void)state;
    static const char press[] = MELT "max_injection_pressure = 100 MPa\n";
    struct finding f = run_study(
        arena, "pressure-drop",
        "stage,peak pressure [MPa]\nnozzle,0.2\nnozzle,0.21\npart,1.98\npart,1.99\n", press);
    ASSERT_FLAG(&f, "pressure-hardly-used", "pressure-drop.csv", 4, "stage part takes the most",
                "of the available 100 MPa");
    f = run_study(arena, "pressure-drop",
                  "stage,peak pressure [MPa]\nnozzle,0.2\nnozzle,0.21\npart,2.01\npart,2.02\n",
                  press);
    assert_none(&f, "pressure-hardly-used");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(fills_without_trouble),
        TEST(a_speed_the_press_does_not_reach),
        TEST(a_speed_off_the_curve),
        TEST(first_shots_that_take_more),
        TEST(knees_outside_the_range),
        TEST(a_cavity_without_weight),
        TEST(hardly_any_pressure_is_no_filling),
    };
    return cmocka_run_group_tests_name("flags-found", tests, NULL, NULL);
}
