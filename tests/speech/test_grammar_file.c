/* What a grammar file may be: each refusal with its line and what to do, and that sphinxbase parses
 * and builds whatever is let through, by its own rule, with no more jumps than were promised. The
 * expected sentences are grammar_file.h's contract; the traps are of sphinxbase's jsgf.c. */
#define _XOPEN_SOURCE 700
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>
#include <sphinxbase/logmath.h>

#include "../base/scratch.h"
#include "speech/grammar_file.h"

#define HEAD "#JSGF V1.0;\ngrammar own;\n"
#define OTHER "#JSGF V1.0;\ngrammar other;\npublic <it> = that | [all] of it;\n"

static char folder[SCRATCH_PATH];

static void put(const char *name, const char *bytes, size_t length)
{
    char path[SCRATCH_PATH + 128];
    snprintf(path, sizeof path, "%s/%s.gram", folder, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

/* Builds it as the recogniser does; how many jumps it has. */
static size_t build(const char *directory, const char *name)
{
    char path[SCRATCH_PATH + 128], begins[128];
    size_t jumps = 0;
    snprintf(path, sizeof path, "%s/%s.gram", directory, name);
    snprintf(begins, sizeof begins, "<%s.", name);
    logmath_t *logmath = logmath_init(1.0001, 0, 0);
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    assert_non_null(jsgf);
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    assert_non_null(rule);
    assert_memory_equal(jsgf_rule_name(rule), begins, strlen(begins));
    fsg_model_t *fsg = jsgf_build_fsg(jsgf, rule, logmath, 1.0f);
    assert_non_null(fsg);
    for (int s = 0; s < fsg_model_n_state(fsg); s++)
        for (fsg_arciter_t *arc = fsg_model_arcs(fsg, s); arc != NULL; arc = fsg_arciter_next(arc))
            jumps += fsg_link_wid(fsg_arciter_get(arc)) < 0;
    fsg_model_free(fsg);
    jsgf_grammar_free(jsgf);
    logmath_free(logmath);
    return jumps;
}

/* own.gram, with "other.gram" beside it, is refused with a sentence that has `part` in it. */
static void refused(const char *own, const char *other, const char *part)
{
    struct fault fault = {0};
    size_t words = 1;
    put("own", own, strlen(own));
    put("other", other, strlen(other));
    assert_false(grammar_file_check(folder, "own", &words, &fault));
    assert_int_equal(fault.code, FAULT_FAILED);
    assert_int_equal(words, 0);
    if (strstr(fault.sentence, part) == NULL || strstr(fault.sentence, folder) == NULL ||
        strstr(fault.sentence, ", line ") == NULL)
        fail_msg("'%s' should say '%s'", fault.sentence, part);
}

static void accepted(const char *own, const char *other, size_t words)
{
    struct fault fault = {0};
    size_t counted = 0;
    put("own", own, strlen(own));
    put("other", other, strlen(other));
    if (!grammar_file_check(folder, "own", &counted, &fault))
        fail_msg("%s\n%s", own, fault.sentence);
    assert_int_equal(counted, words);
    assert_in_range(build(folder, "own"), 0, GRAMMAR_JUMPS);
}

static void what_does_not_belong_is_refused_with_its_line(void **state)
{
    static const struct {
        const char *own, *part;
    } bad[] = {
        {"", "own.gram', line 1: a grammar's first line is '#JSGF V1.0;'"},
        {"\n#JSGF V1.0;\ngrammar own;\npublic <a> = x;\n", "line 1: a grammar's first line"},
        {"\xef\xbb\xbf" HEAD "public <a> = x;\n", "line 1: a grammar's first line"},
        {"#JSGF V1.0 ISO8859-1;\ngrammar own;\npublic <a> = x;\n", "line 1: the header needs ';'"},
        {"#JSGF V1.0;\npublic <a> = x;\n", "line 2: 'grammar NAME;' belongs here"},
        {"#JSGF V1.0;\ngrammar <own>;\n", "line 2: 'grammar' needs its name"},
        {"#JSGF V1.0;\ngrammar own\npublic <a> = x;\n", "line 3: 'grammar NAME' needs ';'"},
        {"#JSGF V1.0;\ngrammar else;\npublic <a> = x;\n", "line 2: it calls itself 'else'"},
        {"#JSGF V1.0;\ngrammar public;\npublic <a> = x;\n", "line 2: 'grammar' needs its name"},
        {HEAD, "line 3: no rule is public"},
        {HEAD "<a> = x;\n", "line 4: no rule is public"},
        {HEAD "public <a> = x;\nstop\n", "line 4: a rule begins here: write '<name> = words;'"},
        {HEAD "public <a> = x;\npublic import <a>;\n", "line 4: a rule begins here"},
        {HEAD "public <a> = x;\nimport <other.it>;\n", "line 4: a rule begins here"},
        {HEAD "public <a> = x;\ngrammar own;\n", "line 4: a rule begins here"},
        {HEAD "public <a> = x;;\n", "line 3: a rule begins here"},
        {HEAD "public <a> x;\n", "line 3: a rule needs '=' here"},
        {HEAD "public <a> = x\n\n<b> = y;\n", "line 5: the rule <a> of line 3 needs ';'"},
        {HEAD "public <a> = x", "line 3: the rule <a> of line 3 needs ';'"},
        {HEAD "public <a> = x y\npublic <b> = z;\n", "line 4: 'public' stands within <a>"},
        {HEAD "public <a> = the\ngrammar;\n", "line 4: 'grammar' stands within <a>"},
        {HEAD "public <a> = x;\npublic <b> = x;\n", "line 4: <a> is public already"},
        {HEAD "public <a> = x;\n<a> = y;\n", "line 4: there is a rule <a> already"},
        {HEAD "public <other.a> = x;\n", "line 3: <other.a> cannot be the name"},
        {HEAD "public <NULL> = x;\n", "line 3: <NULL> cannot be the name"},
        {HEAD "public <VOID> = x;\n", "line 3: <VOID> cannot be the name"},
        {HEAD "public <g00002> = (x);\n", "line 3: <g00002> cannot be the name"},
        {HEAD "public <a> = <b>;\n", "line 3: there is no rule <b>"},
        {HEAD "public <a> = <NULL>;\n", "line 3: there is no rule <NULL>"},
        {HEAD "public <a> = <own.a>;\n", "line 3: there is no rule <own.a>"},
        {HEAD "public <a> = <other.it>;\n", "line 3: there is no rule <other.it>"},
        {HEAD "import <other.it>;\npublic <a> = <it>;\n", "line 4: there is no rule <it>"},
        {HEAD "public <a> = x |\n;\n", "line 4: a word, a <rule> or a bracket belongs here"},
        {HEAD "public <a> = ;\n", "line 3: a word, a <rule> or a bracket"},
        {HEAD "public <a> = | x;\n", "line 3: a word, a <rule> or a bracket"},
        {HEAD "public <a> = x ();\n", "line 3: a word, a <rule> or a bracket"},
        {HEAD "public <a> = x [];\n", "line 3: a word, a <rule> or a bracket"},
        {HEAD "public <a> = (x\n;\n", "line 4: ')' or '|' belongs here"},
        {HEAD "public <a> = (x];\n", "line 3: ')' or '|' belongs here"},
        {HEAD "public <a> = [x);\n", "line 3: ']' or '|' belongs here"},
        {HEAD "public <a> = x);\n", "line 3: ';' or '|' belongs here"},
        {HEAD "public <a> = <>;\n", "line 3: a name is <rule>"},
        {HEAD "public <a> = < b >;\n", "line 3: a name is <rule>"},
        {HEAD "public <a> = <b;\n", "line 3: a name is <rule>"},
        {HEAD "public <a> = <b.c.d>;\n", "line 3: a name is <rule>"},
        {HEAD "public <a> = <.b>;\n", "line 3: a name is <rule>"},
        {HEAD "public <a> = <b.>;\n", "line 3: a name is <rule>"},
        {HEAD "public <a> = x >;\n", "line 3: '>' is not of the JSGF"},
        {HEAD "public <a> = x*;\n", "line 3: '*' is not of the JSGF that midthrow reads"},
        {HEAD "public <a> = x+;\n", "line 3: '+' is not of the JSGF"},
        {HEAD "public <a> = x {tag};\n", "line 3: '{' is not of the JSGF"},
        {HEAD "public <a> = /2/ x | y;\n", "line 3: '/' is not of the JSGF"},
        {HEAD "public <a> = \"x y\";\n", "line 3: '\"' is not of the JSGF"},
        {HEAD "public <a> = x\\;y;\n", "line 3: '\\' is not of the JSGF"},
        {HEAD "public <a> = x.y;\n", "line 3: '.' is not of the JSGF"},
        {HEAD "#JSGF V1.0;\n", "line 3: '#' is not of the JSGF"},
        {HEAD "public <a> = x; /* y */\n", "line 3: '/' is not of the JSGF"},
        {HEAD "public <a> = x;\n// no end", "line 4: the comment's line does not end"},
        {HEAD "public <a> = x\r\n;\n", "line 3: the line ends with a carriage return"},
        {HEAD "public <a> = x\v;\n", "line 3: the byte 0x0b has no place"},
        {HEAD "public <a> = fa\xc3\xa7on;\n", "line 3: the byte 0xc3 has no place"},
        {HEAD "import <other.it>\npublic <a> = x;\n", "line 4: the import needs ';' here"},
        {HEAD "import other;\npublic <a> = x;\n", "line 3: 'import' needs a rule"},
        {HEAD "import <other>;\npublic <a> = x;\n", "line 3: <other> is not of another grammar"},
        {HEAD "import <other.*>;\npublic <a> = x;\n", "line 3: a name is <rule>"},
        {HEAD "import <../other.it>;\npublic <a> = x;\n", "line 3: a name is <rule>"},
        {HEAD "import <other.that>;\npublic <a> = x;\n",
         "line 3: the public rule of other.gram is <it>: import <other.it>"},
        {HEAD "import <other.it>;\nimport <other.it>;\npublic <a> = x;\n",
         "line 4: a rule 'it' is there already"},
        {HEAD "import <other.it>;\nimport <other.that>;\npublic <a> = x;\n",
         "line 4: other.gram is imported in line 3 already"},
        {HEAD "import <other.it>;\npublic <it> = x;\n", "line 4: there is a rule <it> already"},
        {HEAD "import <other.NULL>;\npublic <a> = x;\n", "line 3: a rule 'NULL' is there already"},
        {HEAD "import <nowhere.it>;\npublic <a> = x;\n",
         "line 3: no 'nowhere.gram' can be read beside it"},
        {HEAD "import <own.a>;\npublic <a> = x;\n", "line 4: there is a rule <a> already"},
        {HEAD "import <own.b>;\npublic <a> = x;\n", "own.gram imports itself"},
        {HEAD "public <a> = <a> x | y;\n", "line 3: <a> is part of itself"},
        {HEAD "public <a> = x | y <a>;\n", "line 3: <a> is part of itself"},
        {HEAD "public <a> = <b>;\n<b> = (x [<a>]);\n", "line 4: <a> is part of itself"},
        {HEAD "public <a> = x;\n<c> = <c>;\n", "line 4: <c> is part of itself"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        refused(bad[i].own, OTHER, bad[i].part);
}

static void what_is_imported_is_read_as_strictly(void **state)
{
    static const char own[] = HEAD "import <other.it>;\npublic <a> = <other.it>;\n";
    (void)state;
    refused(own, "", "other.gram', line 1: a grammar's first line");
    refused(own, "#JSGF V1.0;\ngrammar own;\npublic <it> = x;\n", "other.gram', line 2: it calls");
    refused(own, "#JSGF V1.0;\ngrammar other;\n<it> = x;\n",
            "other.gram', line 4: no rule is public");
    refused(own, "#JSGF V1.0;\ngrammar other;\npublic <it> = (x;\n", "other.gram', line 3: ')'");
    refused(own, "#JSGF V1.0;\ngrammar other;\nimport <own.a>;\npublic <it> = <own.a>;\n",
            "imports itself");
    refused(own, "#JSGF V1.0;\ngrammar other;\nimport <other.x>;\npublic <it> = x;\n",
            "imports itself");
    put("ow", "#JSGF V1.0;\ngrammar ow;\npublic <it> = x;\n", 41);
    refused(HEAD "import <ow.it>;\npublic <a> = <ow.it>;\n", OTHER,
            "line 3: the name 'own' begins with 'ow'");
    refused(HEAD "import <other.it>;\nimport <third.it>;\npublic <a> = x;\n", OTHER,
            "line 4: a rule 'it' is there already");
}

static void a_zero_byte_a_long_word_and_a_long_name_are_refused(void **state)
{
    static const char zero[] = HEAD "public <a> = x;\n\0;\n";
    char long_name[200], own[600];
    struct fault fault = {0};
    (void)state;
    put("own", zero, sizeof zero - 1);
    assert_false(grammar_file_check(folder, "own", NULL, &fault));
    assert_non_null(strstr(fault.sentence, "zero byte"));
    memset(long_name, 'x', sizeof long_name - 1);
    long_name[sizeof long_name - 1] = '\0';
    snprintf(own, sizeof own, HEAD "public <a> = %s;\n", long_name);
    refused(own, OTHER, "line 3: this word is too long");
    snprintf(own, sizeof own, HEAD "public <%s> = x;\n", long_name);
    refused(own, OTHER, "line 3: this name is too long");
    assert_false(grammar_file_check(folder, long_name, NULL, &fault));
    assert_non_null(strstr(fault.sentence, "shorten it"));
    assert_false(grammar_file_check(folder, "missing", NULL, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
}

/* `opens` n times, a word, `closes` n times, as one rule. */
static const char *nested(const char *opens, const char *closes, size_t n, const char *after)
{
    static char own[GRAMMAR_BYTES];
    size_t used = (size_t)snprintf(own, sizeof own, HEAD "public <a> = ");
    for (size_t i = 0; i < n; i++)
        used += (size_t)snprintf(own + used, sizeof own - used, "%s", opens);
    used += (size_t)snprintf(own + used, sizeof own - used, "x");
    for (size_t i = 0; i < n; i++)
        used += (size_t)snprintf(own + used, sizeof own - used, "%s", closes);
    snprintf(own + used, sizeof own - used, "%s;\n", after);
    return own;
}

static void depth_words_and_jumps_have_limits(void **state)
{
    char rules[8192] = HEAD "public <a> = <r0>;\n";
    (void)state;
    accepted(nested("(", ")", GRAMMAR_NESTING, ""), OTHER, 1);
    refused(nested("(", ")", GRAMMAR_NESTING + 1, ""), OTHER, "line 3: more than 64 brackets");
    accepted(nested("(", ")", GRAMMAR_NESTING - 1, " (y)"), OTHER, 2);
    accepted(nested("x|", "", GRAMMAR_WORDS - 1, ""), OTHER, GRAMMAR_WORDS);
    refused(nested("x|", "", GRAMMAR_WORDS, ""), OTHER, "line 3: <a> becomes too large");
    accepted(nested("[x]", "", 120, ""), OTHER, 121);
    refused(nested("[x]", "", 1000, ""), OTHER, "line 3: <a> becomes too large");
    for (int i = 0; i < 40; i++)
        snprintf(rules + strlen(rules), sizeof rules - strlen(rules), "<r%d> = <r%d> <r%d>;\n", i,
                 i + 1, i + 1);
    snprintf(rules + strlen(rules), sizeof rules - strlen(rules), "<r40> = x;\n");
    refused(rules, OTHER, "becomes too large when its rules are written out");
    strcpy(rules, HEAD "public <a> = <r0>;\n");
    for (int i = 0; i < 70; i++)
        snprintf(rules + strlen(rules), sizeof rules - strlen(rules), "<r%d> = <r%d>;\n", i, i + 1);
    snprintf(rules + strlen(rules), sizeof rules - strlen(rules), "<r70> = x;\n");
    refused(rules, OTHER, "more than 64 brackets and rules");
}

static void too_many_rules_and_files_are_refused(void **state)
{
    static char own[GRAMMAR_BYTES];
    size_t used = (size_t)snprintf(own, sizeof own, HEAD "public <a> = x;\n");
    (void)state;
    for (int i = 0; i < GRAMMAR_RULES; i++)
        used += (size_t)snprintf(own + used, sizeof own - used, "<b%d> = x;\n", i);
    refused(own, OTHER, "line 1027: more than 1024 rules");
    used = (size_t)snprintf(own, sizeof own, HEAD);
    for (int i = 0; i < GRAMMAR_FILES; i++) {
        char name[32], text[128];
        snprintf(name, sizeof name, "part%d", i);
        snprintf(text, sizeof text, "#JSGF V1.0;\ngrammar %s;\npublic <p%d> = x;\n", name, i);
        put(name, text, strlen(text));
        used += (size_t)snprintf(own + used, sizeof own - used, "import <%s.p%d>;\n", name, i);
        if (i == GRAMMAR_FILES - 2) {
            snprintf(own + used, sizeof own - used, "public <a> = <part3.p3>;\n");
            accepted(own, OTHER, 1);
        }
    }
    refused(own, OTHER, "line 18: these are more than 16 files");
}

static void what_is_let_through_the_library_builds(void **state)
{
    (void)state;
    accepted(HEAD "public <a> = x;", OTHER, 1);
    accepted("#JSGF V1.0 ; // header\ngrammar\town ; // \xc3\xa9 {*\"/* <\n\n//\npublic<a>=x|y[z];",
             OTHER, 3);
    accepted(
        HEAD
        "import <other.it>;\npublic <a> = i don't | (<b> [well-to_do]);//\n<b> = <other.it> 7;\n",
        OTHER, 8);
    accepted(HEAD "import <other.it>;\npublic <a> = x;\n", OTHER, 1);
    accepted(HEAD "public <grammar> = <import> | grammars;\n<import> = x | g1;\n", OTHER, 3);
    /* two ways to one file */
    put("left", "#JSGF V1.0;grammar left;import <other.it>;public <l> = <other.it>;", 66);
    accepted(HEAD "import <other.it>;import <left.l>;public <a> = <left.l> [<other.it>];\n", OTHER,
             8);
}

static void the_shipped_grammars_are_let_through_and_built(void **state)
{
    DIR *grammars = opendir(GRAMMARS);
    struct dirent *entry;
    size_t n = 0, most = 0;
    (void)state;
    assert_non_null(grammars);
    while ((entry = readdir(grammars)) != NULL) {
        char name[256];
        struct fault fault = {0};
        size_t words;
        if (strstr(entry->d_name, ".gram") == NULL)
            continue;
        snprintf(name, sizeof name, "%.*s", (int)(strlen(entry->d_name) - 5), entry->d_name);
        if (!grammar_file_check(GRAMMARS, name, &words, &fault))
            fail_msg("%s", fault.sentence);
        build(GRAMMARS, name);
        most = words > most ? words : most;
        n++;
    }
    closedir(grammars);
    assert_true(n > 30);
    assert_in_range(most, 750, 850); /* what grammar_file.h says of the largest */
}

static int set_up(void **state)
{
    (void)state;
    scratch_make(folder);
    err_set_logfp(NULL);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    scratch_remove(folder);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_does_not_belong_is_refused_with_its_line),
        cmocka_unit_test(what_is_imported_is_read_as_strictly),
        cmocka_unit_test(a_zero_byte_a_long_word_and_a_long_name_are_refused),
        cmocka_unit_test(depth_words_and_jumps_have_limits),
        cmocka_unit_test(too_many_rules_and_files_are_refused),
        cmocka_unit_test(what_is_let_through_the_library_builds),
        cmocka_unit_test(the_shipped_grammars_are_let_through_and_built),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
