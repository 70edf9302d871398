/* Bounded text never overruns and always ends; faults keep their sentence and their code. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "base/fault.h"
#include "base/text.h"

static void text_holds_what_fits_and_says_what_did_not(void **state)
{
    (void)state;
    char buffer[10];
    memset(buffer, 'x', sizeof buffer);
    struct text text = text_into(buffer, 8);
    text_add(&text, "abc");
    assert_false(text.cut);
    text_addf(&text, "%d", 1234);
    assert_string_equal(buffer, "abc1234");
    assert_false(text.cut);
    assert_int_equal(text.used, 7);
    text_addf(&text, "%d", 5);
    assert_true(text.cut);
    text_add(&text, "more");
    assert_string_equal(buffer, "abc1234");
    assert_int_equal(buffer[8], 'x');
}

static void formatted_text_is_cut_at_the_buffer(void **state)
{
    (void)state;
    char buffer[5];
    struct text text = text_into(buffer, sizeof buffer);
    text_addf(&text, "%s", "abcdefgh");
    assert_string_equal(buffer, "abcd");
    assert_true(text.cut);
    assert_int_equal(text.used, 4);
}

static void a_buffer_of_one_byte_holds_nothing(void **state)
{
    (void)state;
    char buffer[1];
    struct text text = text_into(buffer, sizeof buffer);
    text_add(&text, "");
    assert_false(text.cut);
    text_add_n(&text, "a", 1);
    assert_true(text.cut);
    assert_string_equal(buffer, "");
}

static void copying_says_whether_it_was_whole(void **state)
{
    (void)state;
    char buffer[4];
    assert_true(text_copy(buffer, sizeof buffer, "abc"));
    assert_false(text_copy(buffer, sizeof buffer, "abcd"));
    assert_string_equal(buffer, "abc");
    assert_true(text_copy(buffer, sizeof buffer, NULL));
    assert_string_equal(buffer, "");
}

static void a_sentence_begins_with_a_capital(void **state)
{
    (void)state;
    char sentence[] = "there is no microphone: plug one in.", quoted[] = "'x' is none.",
         empty[] = "";
    text_begin_sentence(sentence);
    text_begin_sentence(quoted);
    text_begin_sentence(empty);
    assert_string_equal(sentence, "There is no microphone: plug one in.");
    assert_string_equal(quoted, "'x' is none.");
    assert_string_equal(empty, "");
}

static void a_fault_keeps_sentence_and_code(void **state)
{
    (void)state;
    struct fault fault = {0};
    assert_false(fault_set(&fault, FAULT_MISSING, "no '%s' here", "model"));
    assert_int_equal(fault.code, 3);
    assert_string_equal(fault.sentence, "no 'model' here");
    assert_false(fault_set(NULL, FAULT_USAGE, "nobody listens"));
    char long_words[2000];
    memset(long_words, 'w', sizeof long_words - 1);
    long_words[sizeof long_words - 1] = '\0';
    assert_false(fault_set(&fault, FAULT_USAGE, "%s", long_words));
    assert_int_equal(strlen(fault.sentence), sizeof fault.sentence - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_holds_what_fits_and_says_what_did_not),
        cmocka_unit_test(formatted_text_is_cut_at_the_buffer),
        cmocka_unit_test(a_buffer_of_one_byte_holds_nothing),
        cmocka_unit_test(copying_says_whether_it_was_whole),
        cmocka_unit_test(a_sentence_begins_with_a_capital),
        cmocka_unit_test(a_fault_keeps_sentence_and_code),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
