/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file is written whole or not at all. */
#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "near.h"
#include "plateau/report.h"

static char folder[64];

static const char *path_of(const char *name)
{
    static char path[512];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static int make_folder(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder,
             "/tmp/plateau-test-XX"
             "XX"
             "XX");
    return mkdtemp(folder) == NULL;
}

/* Removes what is there; returns how many entries there were. */
static size_t empty_folder(void)
{
    size_t n = 0;
    DIR *d = opendir(folder);
    for (struct dirent *entry; d != NULL && (entry = readdir(d)) != NULL;)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
            n++;
            if (remove(path_of(entry->d_name)) != 0)
                n += 1000;
        }
    if (d != NULL)
        closedir(d);
    return n;
}

static int remove_folder(void **state)
{
    (void)state;
    chmod(folder, 0700);
    empty_folder();
    return rmdir(folder);
}

static void check_content(const char *name, const char *want, size_t n)
{
    char got[256] = {0};
    FILE *f = fopen(path_of(name), "rb");
    assert_non_null(f);
    assert_int_equal(fread(got, 1, sizeof got, f), n);
    fclose(f);
    assert_memory_equal(got, want, n);
}

static enum errc write_text(const char *name, const char *s, struct error *e)
{
    *e = (struct error){0};
    return report_write_file(folder, name, s, strlen(s), e);
}

static void test_writes_and_replaces(void **state)
{
    (void)state;
    struct error e = {0};
    assert_int_equal(write_text("record.json", "old", &e), ERR_NONE);
    check_content("record.json", "old", 3);
    assert_int_equal(write_text("record.json", "new and longer", &e), ERR_NONE);
    check_content("record.json", "new and longer", 14);
    assert_int_equal(report_write_file(folder, "bytes", "a\0b", 3, &e), ERR_NONE);
    check_content("bytes", "a\0b", 3);
    assert_int_equal(report_write_file(folder, "empty", "", 0, &e), ERR_NONE);
    check_content("empty", "", 0);
    /* nothing else was left lying about */
    assert_int_equal(empty_folder(), 3);
}

static void test_everybody_may_read_it(void **state)
{
    (void)state;
    struct error e;
    struct stat st;
    mode_t mask = umask(022);
    assert_int_equal(write_text("record.json", "x", &e), ERR_NONE);
    umask(mask);
    assert_int_equal(stat(path_of("record.json"), &st), 0);
    assert_int_equal(st.st_mode & 0777, 0644);
}

static void test_folder_that_is_not_there(void **state)
{
    (void)state;
    struct error e = {0};
    assert_int_equal(report_write_file("/nonexistent/report", "record.json", "x", 1, &e),
                     ERR_WRITE);
    assert_string_equal(e.file, "/nonexistent/report/record.json");
    assert_string_equal(e.message, "cannot open the folder: No such file or directory");
    assert_int_equal(error_exit_status(e.code), 4);
}

static void test_folder_that_is_a_file(void **state)
{
    (void)state;
    struct error e = {0};
    assert_int_equal(report_write_file("/dev/full", "record.json", "x", 1, &e), ERR_WRITE);
    assert_string_equal(e.message, "cannot open the folder: Not a directory");
}

/* The name is taken by a folder: the rename fails, the temporary file goes, the folder stays. */
static void test_name_taken_by_a_folder(void **state)
{
    (void)state;
    struct error e;
    assert_int_equal(mkdir(path_of("record.json"), 0700), 0);
    assert_int_equal(write_text("record.json", "x", &e), ERR_WRITE);
    assert_string_equal(e.message,
                        "cannot put the new file in the place of the old one: Is a directory");
    assert_int_equal(empty_folder(), 1);
}

/* Runs a write in a process of its own, where a limit may be set or rights be given up; returns 0
 * when it failed as it should. */
static int in_child(int (*run)(void))
{
    pid_t child = fork();
    if (child == 0)
        _exit(run());
    int status = -1;
    waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static int fails_with(const char *message)
{
    struct error e;
    enum errc code = write_text("record.json", "a new record that does not fit", &e);
    return code == ERR_WRITE && strcmp(e.message, message) == 0 ? 0 : 1;
}

/* A file size limit stands in for a full disk: the write stops half way. */
static int write_with_no_room(void)
{
    struct rlimit limit = {10, 10};
    signal(SIGXFSZ, SIG_IGN);
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0)
        return 2;
    return fails_with("cannot write: File too large");
}

static void test_no_room_keeps_the_old_file(void **state)
{
    (void)state;
    struct error e;
    assert_int_equal(write_text("record.json", "old", &e), ERR_NONE);
    assert_int_equal(in_child(write_with_no_room), 0);
    check_content("record.json", "old", 3);
    assert_int_equal(empty_folder(), 1);
}

#define NOBODY 65534
#define NOT_REACHED 3

static int write_without_rights(void)
{
    struct stat st;
    if (geteuid() == 0 && setuid(NOBODY) != 0)
        return 2;
    if (stat(folder, &st) != 0)
        return NOT_REACHED; /* a folder above is closed to others: nothing can be tried here */
    return fails_with("cannot write into this folder: Permission denied");
}

static void test_read_only_folder_keeps_the_old_file(void **state)
{
    (void)state;
    struct error e;
    assert_int_equal(write_text("record.json", "old", &e), ERR_NONE);
    assert_int_equal(chmod(folder, 0555), 0);
    int status = in_child(write_without_rights);
    assert_int_equal(chmod(folder, 0700), 0);
    if (status == NOT_REACHED)
        skip();
    assert_int_equal(status, 0);
    check_content("record.json", "old", 3);
    assert_int_equal(empty_folder(), 1);
}

/* A temporary name that another one left behind is not touched. */
static void test_temporary_name_taken(void **state)
{
    (void)state;
    struct error e;
    char name[64];
    snprintf(name, sizeof name, ".plateau-%ld-0.tmp", (long)getpid());
    FILE *f = fopen(path_of(name), "wb");
    assert_non_null(f);
    fputs("theirs", f);
    fclose(f);
    assert_int_equal(write_text("record.json", "mine", &e), ERR_NONE);
    check_content("record.json", "mine", 4);
    check_content(name, "theirs", 6);
    assert_int_equal(empty_folder(), 2);
}

/* A link in the way is replaced; what it leads to is not written. */
static void test_link_is_replaced(void **state)
{
    (void)state;
    struct error e;
    struct stat st;
    assert_int_equal(write_text("elsewhere", "precious", &e), ERR_NONE);
    assert_int_equal(symlink("elsewhere", path_of("record.json")), 0);
    assert_int_equal(write_text("record.json", "new", &e), ERR_NONE);
    check_content("elsewhere", "precious", 8);
    assert_int_equal(lstat(path_of("record.json"), &st), 0);
    assert_true(S_ISREG(st.st_mode));
}

static void test_name_must_be_plain(void **state)
{
    (void)state;
    struct error e;
    assert_int_equal(write_text("../record.json", "x", &e), ERR_INTERNAL);
    assert_int_equal(write_text("", "x", &e), ERR_INTERNAL);
    assert_int_equal(empty_folder(), 0);
}

/* Two analyses of one folder: whichever comes last, its file is whole. */
static int write_often(void)
{
    char bytes[256];
    struct error e = {0};
    memset(bytes, 'a' + (int)(getpid() % 26), sizeof bytes);
    for (int i = 0; i < 40; i++)
        if (report_write_file(folder, "record.json", bytes, sizeof bytes, &e) != ERR_NONE)
            return 1;
    return 0;
}

static void test_two_at_once(void **state)
{
    (void)state;
    pid_t other = fork();
    if (other == 0)
        _exit(write_often());
    assert_int_equal(in_child(write_often), 0);
    int status = -1;
    waitpid(other, &status, 0);
    assert_int_equal(status, 0);
    char got[257] = {0};
    FILE *f = fopen(path_of("record.json"), "rb");
    assert_non_null(f);
    assert_int_equal(fread(got, 1, sizeof got, f), 256);
    fclose(f);
    for (size_t i = 1; i < 256; i++)
        assert_int_equal(got[i], got[0]);
    assert_int_equal(empty_folder(), 1);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        TEST(test_writes_and_replaces),
        TEST(test_everybody_may_read_it),
        TEST(test_folder_that_is_not_there),
        TEST(test_folder_that_is_a_file),
        TEST(test_name_taken_by_a_folder),
        TEST(test_no_room_keeps_the_old_file),
        TEST(test_read_only_folder_keeps_the_old_file),
        TEST(test_temporary_name_taken),
        TEST(test_link_is_replaced),
        TEST(test_name_must_be_plain),
        TEST(test_two_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
