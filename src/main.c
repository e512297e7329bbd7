/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plateau/cli.h"

int main(int argc, char **argv)
{
    return cli_main(argc, argv, stdout, stderr);
}
