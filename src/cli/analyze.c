/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"

/* ---- the command ---------------------------------------------------------------------------- */

void cli_say_problems(struct invocation *inv, const struct diag_list *diags, bool quiet)
{
    if (quiet && diags->errors == 0)
        return;
    struct text t;
    text_init(&t, inv->arena);
    struct terminal_style style = terminal_style(inv->err, options_value(inv, "--color"));
    report_diagnostics(&t, diags, &style);
    fputs(t.s, inv->err);
}

static void say_answer(struct invocation *inv, const struct analysis *an, const char *folder,
                       const struct text *record)
{
    if (options_value(inv, "--json") != NULL) {
        cli_print(inv, record);
        return;
    }
    if (options_value(inv, "--quiet") != NULL)
        return;
    struct text t;
    text_init(&t, inv->arena);
    struct terminal_style style = terminal_style(inv->out, options_value(inv, "--color"));
    style.report_path = path_join(inv->arena, folder, PAGE_NAME);
    report_terminal(&t, an, &style);
    cli_print(inv, &t);
}

static enum errc analyze(struct invocation *inv, const struct loaded *l, struct computed *c,
                         struct error *e)
{
    struct arena *a = inv->arena;
    TRY(cli_compute(a, l, c, e));
    const char *folder = options_value(inv, "--out");
    if (folder == NULL)
        folder = output_folder(a, &l->trial);
    struct output_file *files = NULL;
    size_t n = cli_report_files(a, c, &files);
    TRY(output_write(a, folder, files, n, e));
    say_answer(inv, &c->analysis, folder, &c->record);
    return ERR_NONE;
}

int command_analyze(struct invocation *inv)
{
    struct loaded l;
    struct computed c;
    struct error e = {.code = ERR_NONE};
    if (cli_load(inv, &l, &e) != ERR_NONE)
        return cli_fail(inv, &e);
    cli_say_problems(inv, &l.diags, options_value(inv, "--quiet") != NULL);
    if (l.diags.errors > 0)
        return error_exit_status(ERR_INPUT);
    if (analyze(inv, &l, &c, &e) != ERR_NONE)
        return cli_fail(inv, &e);
    if (options_value(inv, "--require") == NULL || c.window.verdict == VERDICT_MET)
        return 0;
    if (options_value(inv, "--quiet") == NULL)
        fprintf(inv->err, "plateau: 'met' was required; the verdict is '%s'\n",
                verdict_text(c.window.verdict));
    return 1;
}
