/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * cli: options, one file per command. The only room that prints to a terminal or ends the program.
 */
#ifndef PLATEAU_CLI_H
#define PLATEAU_CLI_H

#include <stdio.h>

/* Runs one command line. Results go to `out`, everything else to `err`. Returns the exit status:
 * 0 done, 1 done and --require met was missed, 2 usage, 3 bad input, 4 could not read or write,
 * 70 internal. */
int cli_main(int argc, char **argv, FILE *out, FILE *err);

#endif
