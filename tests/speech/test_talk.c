/* Talk of any kind, what an answer is weighed against: the list of words is whole, and it tells an
 * answer from other talk where the answer's grammar alone cannot. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "grammar_words.h"
#include "language/language.h"
#include "recording.h"
#include "speech/recogniser.h"
#include "speech/verdict.h"
#include "voices.h"

static void every_word_of_every_grammar_is_among_the_common_ones(void **state)
{
    (void)state;
    struct grammar_words *words = calloc(1, sizeof *words);
    assert_non_null(words);
    assert_true(grammar_words_read(GRAMMARS, words));
    assert_true(words->count > 200);
    size_t missing = words->count;
    char line[256];
    FILE *file = fopen(GRAMMARS "/talk.lm", "r");
    assert_non_null(file);
    while (fgets(line, sizeof line, file) != NULL) {
        char *word = strchr(line, '\t');
        line[strcspn(line, "\n")] = '\0';
        for (size_t i = 0; word != NULL && i < words->count; i++)
            if (strcmp(words->word[i], word + 1) == 0) {
                words->word[i][0] = '\0';
                missing--;
            }
    }
    fclose(file);
    for (size_t i = 0; i < words->count; i++)
        if (words->word[i][0] != '\0')
            print_message("'%s' is not in talk.lm: talk-words > grammars/talk.lm\n",
                          words->word[i]);
    free(words);
    assert_int_equal(missing, 0);
}

/* How much worse the grammar's best sentence fits than talk does, nats a frame. */
static double talk_of(struct speech_recogniser *ear, const char *voice, const char *grammar,
                      const char *sentence)
{
    struct recording said;
    struct speech_heard heard;
    struct speech_signs signs;
    struct fault fault = {0};
    assert_true(voices_say(voice, sentence, &said));
    assert_true(speech_measure(ear, grammar, said.pcm, said.frames, &heard, &signs, &fault));
    print_message("%s, \"%s\": \"%s\", %.2f, %s\n", voice, sentence, heard.words, signs.talk,
                  speech_verdict_name(heard.verdict));
    recording_free(&said);
    return signs.words == 0 ? -HUGE_VAL : signs.talk;
}

static void other_talk_fits_an_answer_worse_than_the_answer_itself(void **state)
{
    (void)state;
    static const char *const voices[] = {"awb", "en-us"}; /* one of them the model knows badly */
    struct speech_config config = {.grammar_dir = GRAMMARS,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command};
    struct fault fault = {0};
    struct speech_recogniser *ear = speech_recogniser_create(&config, &fault);
    assert_non_null(ear);
    for (size_t v = 0; v < 2; v++) {
        double answer = talk_of(ear, voices[v], "temperature", "only when it is hot");
        assert_true(answer > talk_of(ear, voices[v], "temperature", "put the kettle on") + 1);
        assert_true(answer > talk_of(ear, voices[v], "temperature", "he went home at noon") + 1);
    }
    speech_recogniser_destroy(ear);
}

static void refused(const char *text)
{
    char path[] = "midthrow-talk-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    assert_true(write(file, text, strlen(text)) == (ssize_t)strlen(text));
    close(file);
    struct speech_config config = {.grammar_dir = GRAMMARS, .talk_model = path};
    struct fault fault = {0};
    assert_null(speech_recogniser_create(&config, &fault));
    print_message("%s\n", fault.sentence);
    assert_true(fault.code != FAULT_NONE && fault.sentence[0] != '\0');
    unlink(path);
}

static void lists_that_are_none_are_refused(void **state)
{
    (void)state;
    refused("");
    refused("\\data\\\nngram 1=1\n\n\\1-grams:\n\n\\end\\\n");
    refused("\\data\\\nngram 1=1\n\n\\1-grams:\n-1.0\txyzzyplugh\n\n\\end\\\n");
    refused("\\1-grams:\n-1.0\tthe\n"); /* no count of them */
}

int main(void)
{
    struct recording probe;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_of_every_grammar_is_among_the_common_ones),
        cmocka_unit_test(other_talk_fits_an_answer_worse_than_the_answer_itself),
        cmocka_unit_test(lists_that_are_none_are_refused),
    };
    if (!voices_say("awb", "yes", &probe))
        return 77;
    recording_free(&probe);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
