/* The catalogue of sentences: what is read, what is refused, how placeholders are filled. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "prompt/prompt.h"

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

static struct prompt_catalogue *load(void)
{
    struct fault fault = {0};
    struct prompt_catalogue *catalogue = prompt_load(directory, &fault);
    if (catalogue == NULL)
        fail_msg("%s", fault.sentence);
    return catalogue;
}

static void assert_refuses(const char *content, const char *why)
{
    struct fault fault = {0};
    scratch_text(directory, "b.ini", content);
    struct prompt_catalogue *catalogue = prompt_load(directory, &fault);
    assert_null(catalogue);
    if (strstr(fault.sentence, why) == NULL)
        fail_msg("'%s' does not say '%s'", fault.sentence, why);
}

static void sentences_of_all_files_come_in_the_order_of_their_keys(void **state)
{
    (void)state;
    scratch_text(directory, "b.ini",
                 "[intake]\ncreep = Does it creep?\n[caution]\noff = Engine off.\n");
    scratch_text(directory, "a.ini",
                 "again = Again?\n[intake]\n# one\nback = Back throw, please.\n");
    scratch_text(directory, "notes.txt", "[intake]\nother = no\n");
    struct prompt_catalogue *catalogue = load();
    assert_int_equal(prompt_count(catalogue), 4);
    assert_string_equal(prompt_key(catalogue, 0), "again");
    assert_string_equal(prompt_key(catalogue, 1), "caution.off");
    assert_string_equal(prompt_key(catalogue, 2), "intake.back");
    assert_string_equal(prompt_key(catalogue, 3), "intake.creep");
    assert_null(prompt_key(catalogue, 4));
    assert_string_equal(prompt_raw(catalogue, "intake.back"), "Back throw, please.");
    assert_true(prompt_has(catalogue, "intake.creep"));
    assert_false(prompt_has(catalogue, "intake.other"));
    assert_null(prompt_raw(catalogue, "intake"));
    prompt_free(catalogue);
}

static void cautions_are_those_of_the_section_of_that_name(void **state)
{
    (void)state;
    assert_true(prompt_is_caution("caution.engine_off"));
    assert_false(prompt_is_caution("cautions.engine_off"));
    assert_false(prompt_is_caution("intake.caution.engine_off"));
    assert_false(prompt_is_caution("caution"));
}

static void placeholders_are_filled_and_what_is_put_in_is_not_read_again(void **state)
{
    (void)state;
    char out[PROMPT_SENTENCE];
    scratch_text(directory, "a.ini", "[a]\nk = {value} against {limit}; {value}!\nplain = Yes.\n");
    struct prompt_catalogue *catalogue = load();
    const struct prompt_argument arguments[] = {
        {"limit", "{value}"}, {"value", "5/16 in"}, {"unused", "x"}};
    assert_true(prompt_fill(catalogue, "a.k", arguments, 3, out, sizeof out, NULL));
    assert_string_equal(out, "5/16 in against {value}; 5/16 in!");
    assert_true(prompt_fill(catalogue, "a.plain", NULL, 0, out, sizeof out, NULL));
    assert_string_equal(out, "Yes.");
    prompt_free(catalogue);
}

static void what_cannot_be_said_leaves_the_key(void **state)
{
    (void)state;
    char out[PROMPT_SENTENCE];
    struct fault fault = {0};
    scratch_text(directory, "a.ini", "[a]\nk = {value} and {more}\n");
    struct prompt_catalogue *catalogue = load();
    const struct prompt_argument arguments[] = {{"value", "5/16 in"}, {"mor", "x"}};
    assert_false(prompt_fill(catalogue, "a.none", NULL, 0, out, sizeof out, &fault));
    assert_string_equal(out, "a.none");
    assert_non_null(strstr(fault.sentence, "no sentence 'a.none'"));
    assert_false(prompt_fill(catalogue, "a.k", arguments, 2, out, sizeof out, &fault));
    assert_string_equal(out, "a.k");
    assert_non_null(strstr(fault.sentence, "wants {more}"));
    assert_false(prompt_fill(catalogue, "a.k", arguments, 0, out, 4, &fault));
    const struct prompt_argument both[] = {{"value", "5/16 in"}, {"more", "x"}};
    assert_false(prompt_fill(catalogue, "a.k", both, 2, out, 10, &fault));
    assert_string_equal(out, "a.k");
    assert_non_null(strstr(fault.sentence, "too long"));
    prompt_free(catalogue);
}

static void a_sentence_goes_on_in_indented_lines(void **state)
{
    (void)state;
    scratch_text(directory, "a.ini", "[a]\nk = One,\n    two;\n    three = 3.\nl =\n    Later.\n");
    struct prompt_catalogue *catalogue = load();
    assert_string_equal(prompt_raw(catalogue, "a.k"), "One, two; three = 3.");
    assert_string_equal(prompt_raw(catalogue, "a.l"), "Later.");
    prompt_free(catalogue);
}

static void letters_of_any_language_are_kept(void **state)
{
    (void)state;
    scratch_text(directory, "a.ini", "[a]\nk = Kupplungshebel gel\xC3\xB6st \xE2\x80\x93 ja?\n");
    struct prompt_catalogue *catalogue = load();
    assert_string_equal(prompt_raw(catalogue, "a.k"),
                        "Kupplungshebel gel\xC3\xB6st \xE2\x80\x93 ja?");
    prompt_free(catalogue);
}

static void bad_sentences_are_refused_with_file_and_line(void **state)
{
    (void)state;
    scratch_text(directory, "a.ini", "[a]\nk = One.\n");
    assert_refuses("[a]\nl = One.\nk = Two.\n",
                   "'a.k' is given twice, in 'a.ini' line 2 and 'b.ini' line 3");
    assert_refuses("[b]\nk = One.\nk = Two.\n", "'b.ini' line 2 and 'b.ini' line 3");
    static const char *const braces[] = {"{",     "}",         "{value", "value}",    "{}",
                                         "{a b}", "{{value}}", "{A}",    "a } b { c", "{value}}"};
    for (size_t i = 0; i < sizeof braces / sizeof braces[0]; i++) {
        char content[64];
        snprintf(content, sizeof content, "[b]\n\nk = x %s y\n", braces[i]);
        assert_refuses(content, "'b.ini' line 3: the sentence 'b.k' has a brace without its twin");
    }
    assert_refuses("[b]\nk =\n", "line 2: the sentence 'b.k' is empty");
    assert_refuses("[b]\nk = \xFF\n", "line 2 is not UTF-8");
    assert_refuses("[b]\n= One.\n", "has no key");
    assert_refuses("[b]\nk = One ; two.\n", "is cut off by a ';'");
    assert_refuses("[b23456789012345678901234567890]\nk2345678901234567890123456789012345 = One.\n",
                   "more than 62 letters");
}

static void a_sentence_has_a_bound(void **state)
{
    (void)state;
    char content[2048] = "[a]\nk = x\n";
    for (int i = 0; i < 6; i++) {
        strcat(content, " ");
        memset(content + strlen(content), 'y', 170);
        strcat(content, "\n");
    }
    assert_refuses(content, "longer than 1023 bytes");
}

static void a_folder_without_sentences_is_something_missing(void **state)
{
    (void)state;
    struct fault fault = {0};
    char path[SCRATCH_PATH];
    assert_null(prompt_load(scratch_path(directory, "none", path), &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    assert_null(prompt_load(directory, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    scratch_text(directory, "a.ini", "[a]\n");
    assert_null(prompt_load(directory, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    prompt_free(NULL);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(sentences_of_all_files_come_in_the_order_of_their_keys),
        TEST(cautions_are_those_of_the_section_of_that_name),
        TEST(placeholders_are_filled_and_what_is_put_in_is_not_read_again),
        TEST(what_cannot_be_said_leaves_the_key),
        TEST(a_sentence_goes_on_in_indented_lines),
        TEST(letters_of_any_language_are_kept),
        TEST(bad_sentences_are_refused_with_file_and_line),
        TEST(a_sentence_has_a_bound),
        TEST(a_folder_without_sentences_is_something_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
