/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Number comparisons for the tests; cmocka's own compare as float. Includes cmocka itself. */
#ifndef TESTS_NEAR_H
#define TESTS_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* Digits of agreement: -log10 |got - want| / |want| (of |got| where want is 0); 16 when equal. */
double lre(double got, double want);

/* Fails unless got agrees with want to at least `digits` digits. NAN agrees with NAN only. */
#define assert_lre(got, want, digits) assert_lre_((got), (want), (digits), #got, __FILE__, __LINE__)
/* Fails unless |got - want| <= rel * |want| + abs. NAN agrees with NAN only. */
#define assert_near(got, want, rel, abs)                                                           \
    assert_near_((got), (want), (rel), (abs), #got, __FILE__, __LINE__)

void assert_lre_(double got, double want, double digits, const char *what, const char *file,
                 int line);
void assert_near_(double got, double want, double rel, double abs, const char *what,
                  const char *file, int line);

#endif
