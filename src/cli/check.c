/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"

int command_check(struct invocation *inv)
{
    struct loaded l;
    struct error e = {.code = ERR_NONE};
    if (cli_load(inv, &l, &e) != ERR_NONE)
        return cli_fail(inv, &e);
    struct text problems, reading;
    text_init(&problems, inv->arena);
    text_init(&reading, inv->arena);
    struct terminal_style on_err = terminal_style(inv->err, NULL);
    struct terminal_style on_out = terminal_style(inv->out, NULL);
    report_diagnostics(&problems, &l.diags, &on_err);
    report_reading(&reading, &l.premises, &on_out);
    fputs(problems.s, inv->err);
    cli_print(inv, &reading);
    return l.diags.errors > 0 ? error_exit_status(ERR_INPUT) : 0;
}
