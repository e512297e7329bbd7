/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * usage PROGRAM ARGUMENT...   Runs a program and prints on standard error its seconds of processor
 * time, its peak memory in MiB and its exit status (128 and more: the signal that ended it). */
#define _DEFAULT_SOURCE
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

int main(int argc, char **argv)
{
    int status;
    struct rusage u;
    pid_t child = argc > 1 ? fork() : -1;
    if (child == 0) {
        execv(argv[1], argv + 1);
        _exit(127);
    }
    if (child < 0 || waitpid(child, &status, 0) != child || getrusage(RUSAGE_CHILDREN, &u) != 0)
        return 1;
    fprintf(stderr, "usage %.2f %ld %d\n",
            (double)(u.ru_utime.tv_sec + u.ru_stime.tv_sec) +
                (double)(u.ru_utime.tv_usec + u.ru_stime.tv_usec) / 1e6,
            u.ru_maxrss / 1024, WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status));
    return 0;
}
