/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The number at the start of a text of trial.ini, where its end is not known beforehand.
 */
#ifndef READ_INI_NUMBER_H
#define READ_INI_NUMBER_H

#include "plateau/base.h"

enum ini_number_answer {
    INI_NUMBER_OK,
    INI_NUMBER_NONE,        /* no number starts here, or its marks make no sense */
    INI_NUMBER_TWO_READINGS /* "1,234": thousands or decimals */
};

struct ini_number {
    enum ini_number_answer answer;
    double value;
    int decimals;  /* for printing it back */
    size_t length; /* bytes read */
    bool repaired; /* a decimal comma, marks between thousands */
};

/* Sign (a Unicode minus too), digits, decimal point; a decimal comma where it can be nothing else
 * ("0,85", "1.234,5"); marks between groups of three ("1 200", "1'200", "1,200.5"); an exponent. A
 * single dot is always the decimal point. `s` ends in NUL. */
struct ini_number ini_number_read(const char *s);

#endif
