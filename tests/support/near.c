/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "near.h"

double lre(double got, double want)
{
    if (got == want)
        return 16.0;
    double scale = fabs(want) > 0.0 ? fabs(want) : 1.0;
    double digits = -log10(fabs(got - want) / scale);
    return digits > 16.0 ? 16.0 : digits;
}

static void fail_number(double got, double want, const char *what, const char *file, int line)
{
    print_error("%s = %.15g, want %.15g (%.1f digits)\n", what, got, want, lre(got, want));
    _fail(file, line);
}

void assert_lre_(double got, double want, double digits, const char *what, const char *file,
                 int line)
{
    if (isnan(got) && isnan(want))
        return;
    if (!(lre(got, want) >= digits))
        fail_number(got, want, what, file, line);
}

void assert_near_(double got, double want, double rel, double abs, const char *what,
                  const char *file, int line)
{
    if ((isnan(got) && isnan(want)) || got == want)
        return;
    if (!(fabs(got - want) <= rel * fabs(want) + abs))
        fail_number(got, want, what, file, line);
}
