/* Single keys collected into entries, and the drivers they come from: a pipe, a file, a terminal
 * (both ends of a pseudo-terminal). */
#define _XOPEN_SOURCE 700 /* posix_openpt and its kin */
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/text.h"
#include "keypad/keypad.h"

/* Feeds the characters; every entry that ended, each followed by a bar. */
static const char *entries_of(struct keypad_line *line, const char *keys)
{
    static char found[512];
    struct text text = text_into(found, sizeof found);
    for (; *keys != '\0'; keys++) {
        if (keypad_line_key(line, *keys))
            text_addf(&text, "%s|", line->entry);
    }
    return found;
}

static void enter_ends_an_entry(void **state)
{
    (void)state;
    struct keypad_line line;
    keypad_line_init(&line);
    assert_string_equal(entries_of(&line, "5/16\n1+5/16\r.31\r\n7.9*\n\n\r\r"),
                        "5/16|1+5/16|.31|7.9*||||");
    assert_string_equal(entries_of(&line, "310-"), "");
    assert_string_equal(line.entry, "310-");
    assert_string_equal(entries_of(&line, "\n"), "310-|");
}

static void slashes_clear_and_backspace_takes_back(void **state)
{
    (void)state;
    struct keypad_line line;
    keypad_line_init(&line);
    assert_string_equal(entries_of(&line, "5/16//3/8\n"), "3/8|");
    assert_string_equal(entries_of(&line, "12//\n"), "|");
    assert_string_equal(entries_of(&line, "12///\n"), "/|");
    assert_string_equal(entries_of(&line, "123\b\x7f"
                                          "4\n"),
                        "14|");
    assert_string_equal(entries_of(&line, "\b\b5\n"), "5|");
    assert_string_equal(entries_of(&line, "5/\b/16\n"), "5/16|");
}

static void other_characters_are_dropped_and_counted(void **state)
{
    (void)state;
    struct keypad_line line;
    keypad_line_init(&line);
    assert_string_equal(entries_of(&line, "a1b \t2\xff"), "");
    assert_int_equal(line.dropped, 5);
    assert_string_equal(entries_of(&line, "\n"), "12|");
    assert_int_equal(line.dropped, 5);
    assert_false(keypad_line_key(&line, '3'));
    assert_int_equal(line.dropped, 0);
}

/* Without Num Lock the pad sends these instead of digits: none may become one. */
static void escape_sequences_are_no_digits(void **state)
{
    (void)state;
    struct keypad_line line;
    keypad_line_init(&line);
    static const char *const sequences[] = {"\x1b[1~",    "\x1b[4~", "\x1b[A",     "\x1b[1;5C",
                                            "\x1bOq",     "\x1bOM",  "\x1b[E",     "\x1b[200~",
                                            "\x1b[?1;2c", "\x1b[3~", "\x1b\x1b[5~"};
    for (size_t i = 0; i < sizeof sequences / sizeof sequences[0]; i++) {
        assert_string_equal(entries_of(&line, sequences[i]), "");
        assert_int_equal(line.used, 0);
    }
    assert_int_equal(line.dropped, sizeof sequences / sizeof sequences[0] + 1);
    assert_string_equal(entries_of(&line, "7\x1b[A2\n"), "72|");
    assert_string_equal(entries_of(&line, "\x1b"
                                          "5\n"),
                        "5|"); /* Escape alone, then a five */
    assert_string_equal(entries_of(&line, "5\x1b[1\n"), "5|");
}

static void an_entry_too_long_comes_back_bad(void **state)
{
    (void)state;
    struct keypad_line line;
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    keypad_line_init(&line);
    for (int i = 0; i < 60; i++)
        assert_false(keypad_line_key(&line, '0'));
    assert_true(line.overflowed);
    assert_false(keypad_line_key(&line, '7'));
    assert_true(keypad_line_key(&line, '\n'));
    for (size_t g = 0; g < language_grammar_count(); g++)
        assert_int_equal(keypad_entry(language_grammar_name(g), line.entry, words, why),
                         KEYPAD_BAD);
    assert_false(keypad_line_key(&line, '7'));
    assert_false(line.overflowed);
    assert_string_equal(line.entry, "7");
    /* Backspace takes the keys that found no room back first: nothing is left out of the middle. */
    keypad_line_init(&line);
    for (int i = 0; i < KEYPAD_ENTRY + 2; i++)
        keypad_line_key(&line, (char)('0' + i % 10));
    for (int i = 0; i < KEYPAD_ENTRY; i++)
        keypad_line_key(&line, '\b');
    assert_false(line.overflowed);
    assert_string_equal(line.entry, "01");
    for (int i = 0; i < 100; i++)
        keypad_line_key(&line, '1');
    assert_string_equal(entries_of(&line, "//9\n"), "9|");
}

/* ---- drivers ------------------------------------------------------------------------------ */

static void check_reads(const struct keypad_driver *driver, void *keypad, const char *expected)
{
    char keys[64];
    struct fault fault;
    long n = driver->read(keypad, keys, sizeof keys, &fault);
    assert_int_equal(n, strlen(expected));
    assert_memory_equal(keys, expected, strlen(expected));
}

static void put(int fd, const char *keys)
{
    assert_int_equal(write(fd, keys, strlen(keys)), strlen(keys));
}

static void a_pipe_gives_keys_to_its_end(void **state)
{
    (void)state;
    int ends[2];
    void *keypad;
    struct fault fault;
    assert_int_equal(pipe(ends), 0);
    const struct keypad_driver *driver = keypad_driver_for(ends[0]);
    assert_string_equal(driver->name, "pipe");
    assert_true(driver->open(ends[0], &keypad, &fault));
    put(ends[1], "5/16\n");
    check_reads(driver, keypad, "5/16\n");
    assert_int_equal(fcntl(ends[0], F_SETFL, O_NONBLOCK), 0);
    put(ends[1], "1\n");
    check_reads(driver, keypad, "1\n");
    close(ends[1]);
    check_reads(driver, keypad, "");
    driver->close(keypad);
    close(ends[0]);
    driver->close(NULL);
}

static void nothing_to_read_from_is_a_fault(void **state)
{
    (void)state;
    void *keypad = NULL;
    struct fault fault = {0};
    int fd = open("/dev/null", O_WRONLY);
    assert_false(keypad_driver_pipe.open(-1, &keypad, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    assert_false(keypad_driver_terminal.open(fd, &keypad, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    assert_null(keypad);
    char key;
    assert_true(keypad_driver_pipe.open(fd, &keypad, &fault));
    assert_int_equal(keypad_driver_pipe.read(keypad, &key, 1, &fault), -1);
    assert_int_equal(fault.code, FAULT_FAILED);
    keypad_driver_pipe.close(keypad);
    close(fd);
}

static bool has_input(int fd)
{
    struct pollfd waiting = {.fd = fd, .events = POLLIN};
    return poll(&waiting, 1, 200) > 0;
}

static void a_terminal_gives_single_keys_and_is_given_back(void **state)
{
    (void)state;
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    int slave = open(ptsname(master), O_RDWR | O_NOCTTY);
    assert_true(slave >= 0);
    struct termios before, during, after;
    struct fault fault;
    void *keypad;
    assert_int_equal(tcgetattr(slave, &before), 0);
    const struct keypad_driver *driver = keypad_driver_for(slave);
    assert_string_equal(driver->name, "terminal");
    assert_true(driver->open(slave, &keypad, &fault));
    assert_int_equal(tcgetattr(slave, &during), 0);
    assert_false(during.c_lflag & (ICANON | ECHO));
    assert_true(during.c_lflag & ISIG);
    put(master, "5"); /* no Enter: with line editing nothing would come */
    assert_true(has_input(slave));
    check_reads(driver, keypad, "5");
    assert_false(has_input(master)); /* not echoed */
    put(master, "/16\r");
    check_reads(driver, keypad, "/16\n");
    put(master, "12\x04"
                "3");
    check_reads(driver, keypad, "12");
    check_reads(driver, keypad, "");
    driver->close(keypad);
    assert_int_equal(tcgetattr(slave, &after), 0);
    assert_int_equal(after.c_lflag, before.c_lflag);
    assert_memory_equal(after.c_cc, before.c_cc, sizeof before.c_cc);
    close(slave);
    close(master);
    driver->close(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(enter_ends_an_entry),
        cmocka_unit_test(slashes_clear_and_backspace_takes_back),
        cmocka_unit_test(other_characters_are_dropped_and_counted),
        cmocka_unit_test(escape_sequences_are_no_digits),
        cmocka_unit_test(an_entry_too_long_comes_back_bad),
        cmocka_unit_test(a_pipe_gives_keys_to_its_end),
        cmocka_unit_test(nothing_to_read_from_is_a_fault),
        cmocka_unit_test(a_terminal_gives_single_keys_and_is_given_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
