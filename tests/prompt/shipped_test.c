/* The sentences midthrow comes with: every one can be read and found. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "prompt/prompt.h"

static void the_shipped_sentences_can_be_read(void **state)
{
    (void)state;
    struct fault fault = {0};
    struct prompt_catalogue *catalogue = prompt_load(SENTENCES, &fault);
    if (catalogue == NULL)
        fail_msg("%s", fault.sentence);
    assert_true(prompt_count(catalogue) > 0);
    for (size_t i = 0; i < prompt_count(catalogue); i++)
        assert_non_null(prompt_raw(catalogue, prompt_key(catalogue, i)));
    prompt_free(catalogue);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_shipped_sentences_can_be_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
