/* INI files from outside: what is read, and what is refused with its line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/inifile.h"
#include "base/text.h"
#include "scratch.h"

static char directory[SCRATCH_PATH];

static int make_directory(void **state)
{
    (void)state;
    scratch_make(directory);
    return 0;
}

static int remove_directory(void **state)
{
    (void)state;
    scratch_remove(directory);
    return 0;
}

/* Every entry as "line section.key=value", with + for continued and ; for commented. */
static bool note(void *context, const struct inifile_entry *entry, struct fault *fault)
{
    (void)fault;
    text_addf(context, "%d %s.%s=%s%s%s|", entry->line, entry->section, entry->key, entry->value,
              entry->continued ? "+" : "", entry->commented ? ";" : "");
    return true;
}

static bool read_bytes(const char *bytes, size_t length, char *out, size_t size,
                       struct fault *fault)
{
    char path[SCRATCH_PATH];
    struct text text = text_into(out, size);
    scratch_write(directory, "a.ini", bytes, length, path);
    return inifile_read(path, note, &text, fault);
}

static void assert_reads(const char *content, const char *wanted)
{
    char out[4096];
    struct fault fault = {0};
    if (!read_bytes(content, strlen(content), out, sizeof out, &fault))
        fail_msg("%s", fault.sentence);
    assert_string_equal(out, wanted);
}

static void assert_refuses_bytes(const char *content, size_t length, const char *why)
{
    char out[4096];
    struct fault fault = {0};
    assert_false(read_bytes(content, length, out, sizeof out, &fault));
    if (strstr(fault.sentence, why) == NULL)
        fail_msg("'%s' does not say '%s'", fault.sentence, why);
    assert_int_equal(fault.code, FAULT_FAILED);
}

static void assert_refuses(const char *content, const char *why)
{
    assert_refuses_bytes(content, strlen(content), why);
}

static void entries_come_with_their_lines(void **state)
{
    (void)state;
    assert_reads("# first\n[a]\nk = v\n\n; more\n[b]\n  l : w x  \r\nm=1 ; why\n",
                 "3 a.k=v|7 b.l=w x|8 b.m=1;|");
    assert_reads("", "");
    assert_reads("\xEF\xBB\xBF[a]\nk=v", "2 a.k=v|");
    assert_reads("k=v\n", "1 .k=v|");
}

static void an_indented_line_goes_on_with_the_entry_before(void **state)
{
    (void)state;
    assert_reads("[a]\nk = one\n  two = 2\n\tthree\n", "2 a.k=one|3 a.k=two = 2+|4 a.k=three+|");
    assert_reads("[a]\n  k = k = k\n", "2 a.k=k = k|");
    assert_reads("[a]\nk=v\n[a]\n  k = w\n", "2 a.k=v|4 a.k=w|");
}

static void what_is_no_entry_is_refused_with_its_line(void **state)
{
    (void)state;
    assert_refuses("[a]\nk = v\nnonsense\n", "line 3");
    assert_refuses("[a\nk = v\n", "line 1");
    assert_refuses_bytes("[a]\nk = \0v\n", 11, "line 2 holds a control character");
    assert_refuses("[a]\nk = \x1B[2J\n", "line 2 holds a control character");
    assert_refuses("[a]\nk = a\xC2\x9B"
                   "2J\n",
                   "line 2 holds a control character");
    assert_refuses("[a]\nk = \xE2\x80\xAE\n", "line 2 holds a control character");
    assert_refuses("[a]\nk = a\rb\n", "line 2 holds a control character");
    assert_refuses("[a]\n\nk = \xFF\n", "line 3 is not UTF-8");
    assert_refuses("[a123456789012345678901234567890123456789012345678901234]\nk=v\n",
                   "more than 48 letters");
}

static void lines_up_to_the_bound_are_whole_and_longer_ones_refused(void **state)
{
    (void)state;
    char content[INIFILE_LINE + 16] = "[a]\nk=";
    char wanted[INIFILE_LINE + 32] = "2 a.k=";
    memset(content + 6, 'x', INIFILE_LINE - 2);
    memset(wanted + 6, 'x', INIFILE_LINE - 2);
    strcpy(wanted + 6 + INIFILE_LINE - 2, "|");
    assert_reads(content, wanted);
    strcat(content, "\r\n");
    assert_reads(content, wanted);
    strcpy(content + 4 + INIFILE_LINE, "x\n");
    assert_refuses(content, "line 2 is longer than 196 bytes");
}

static void only_files_of_believable_size_are_read(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    char out[64];
    struct text text = text_into(out, sizeof out);
    struct fault fault = {0};
    char *big = malloc(INIFILE_BYTES + 1);
    memset(big, '\n', INIFILE_BYTES + 1);
    scratch_write(directory, "big.ini", big, INIFILE_BYTES, path);
    assert_true(inifile_read(path, note, &text, &fault));
    scratch_write(directory, "big.ini", big, INIFILE_BYTES + 1, path);
    assert_false(inifile_read(path, note, &text, &fault));
    assert_non_null(strstr(fault.sentence, "larger than 64 KiB"));
    free(big);

    assert_false(inifile_read(directory, note, &text, &fault));
    assert_non_null(strstr(fault.sentence, "is not a file"));
    assert_int_equal(mkfifo(scratch_path(directory, "pipe.ini", path), 0600), 0);
    assert_false(inifile_read(path, note, &text, &fault)); /* and does not wait for a writer */
    assert_non_null(strstr(fault.sentence, "is not a file"));
    assert_false(inifile_read(scratch_path(directory, "none.ini", path), note, &text, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
}

static void any_bytes_are_read_or_refused(void **state)
{
    (void)state;
    static const char *const piece[] = {"[",        "]",    "=",     ":",       ";",   "#",
                                        "\n",       "\r\n", " ",     "\t",      "a",   "key",
                                        "\xC3\xA9", "\x80", "[a]\n", "k = v\n", "\x1B"};
    uint64_t seed = 1;
    for (int i = 0; i < 2000; i++) {
        char content[400] = "";
        char out[8192];
        struct fault fault = {0};
        for (size_t n = seeded_below(&seed, 40); n > 0; n--)
            strcat(content, piece[seeded_below(&seed, sizeof piece / sizeof piece[0])]);
        if (!read_bytes(content, strlen(content), out, sizeof out, &fault))
            assert_non_null(strstr(fault.sentence, "line "));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(entries_come_with_their_lines),
        cmocka_unit_test(an_indented_line_goes_on_with_the_entry_before),
        cmocka_unit_test(what_is_no_entry_is_refused_with_its_line),
        cmocka_unit_test(lines_up_to_the_bound_are_whole_and_longer_ones_refused),
        cmocka_unit_test(only_files_of_believable_size_are_read),
        cmocka_unit_test(any_bytes_are_read_or_refused),
    };
    return cmocka_run_group_tests(tests, make_directory, remove_directory);
}
