/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "commands.h"
#include "plateau/cli.h"

/* Results that did not arrive are a failure, whatever the command found: a full disk behind
 * `> file` must not look like success. */
static int close_results(const struct invocation *inv, int status)
{
    if (inv->out_errno == 0)
        return status;
    fprintf(inv->err, "plateau: could not write the results to standard output: %s\n",
            strerror(inv->out_errno));
    return error_exit_status(ERR_WRITE);
}

static int run(struct invocation *inv, int argc, char **argv)
{
    struct text t;
    text_init(&t, inv->arena);
    if (argc > 1 && strcmp(argv[1], "--version") == 0) {
        text_addf(&t, "plateau %s\n", PLATEAU_VERSION);
        cli_print(inv, &t);
        return 0;
    }
    struct error e = {.code = ERR_NONE};
    bool help;
    if (options_parse(inv, argc, argv, &help, &e) != ERR_NONE)
        return cli_fail(inv, &e);
    if (!help)
        return inv->command->run(inv);
    if (inv->command != NULL)
        help_command(&t, inv->command, terminal_width(inv->out));
    else
        help_overview(&t, terminal_width(inv->out));
    cli_print(inv, &t);
    return 0;
}

int cli_main(int argc, char **argv, FILE *out, FILE *err)
{
    struct invocation inv = {.arena = arena_new(), .out = out, .err = err};
    int status = run(&inv, argc, argv);
    status = close_results(&inv, status);
    arena_free(inv.arena);
    return status;
}
