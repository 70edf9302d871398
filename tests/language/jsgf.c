/* JSGF for the tests: a recursive descent reader, counting and unranking of derivations, and
 * recognition by sets of positions. See jsgf.h. */
#include "jsgf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { NODES_MAX = 4096, RULES_MAX = 256, NAME = 64, DEPTH_MAX = 64, FILE_MAX = 1 << 16 };

enum kind { WORD, RULE, SEQUENCE, ALTERNATIVES, OPTIONAL };

/* Children are chained by `next`; a rule reference's child is found through the rule table. */
struct node {
    enum kind kind;
    char name[NAME]; /* the word, or the rule's full name */
    int child, next; /* -1: none */
    uint64_t count;
    bool used;
};

struct rule {
    char name[NAME]; /* "grammar.rule" */
    int node;
    bool is_public;
};

struct jsgf {
    struct node node[NODES_MAX];
    int nodes;
    struct rule rule[RULES_MAX];
    int rules;
    int root;
};

struct reader {
    struct jsgf *jsgf;
    const char *directory;
    char grammar[NAME];
    const char *at;
    char token[NAME];
    char *why;
    bool failed;
};

static bool load_file(struct jsgf *jsgf, const char *directory, const char *name, char *why);

static void fail(struct reader *reader, const char *what, const char *which)
{
    if (!reader->failed)
        snprintf(reader->why, JSGF_WHY, "%.60s: %.40s '%.100s'", reader->grammar, what, which);
    reader->failed = true;
    reader->at = "";
    reader->token[0] = '\0';
}

/* ---- tokens: words, <names> and single marks ---------------------------------------------- */

static void skip_blanks(struct reader *reader)
{
    for (;;) {
        reader->at += strspn(reader->at, " \t\r\n");
        if (strncmp(reader->at, "//", 2) == 0)
            reader->at += strcspn(reader->at, "\n");
        else
            return;
    }
}

static void next_token(struct reader *reader)
{
    skip_blanks(reader);
    static const char marks[] = "=;|()[]*+/{}";
    size_t length = 0;
    if (*reader->at == '<')
        length = strcspn(reader->at, ">") + 1;
    else if (*reader->at != '\0' && strchr(marks, *reader->at) != NULL)
        length = 1;
    else
        length = strcspn(reader->at, " \t\r\n<=;|()[]*+/{}");
    if (length >= sizeof reader->token || length > strlen(reader->at)) {
        fail(reader, "a token is too long or not closed:", "<");
        return;
    }
    memcpy(reader->token, reader->at, length);
    reader->token[length] = '\0';
    reader->at += length;
}

static bool take(struct reader *reader, const char *token)
{
    if (strcmp(reader->token, token) != 0)
        return false;
    next_token(reader);
    return true;
}

static void expect(struct reader *reader, const char *token)
{
    if (!take(reader, token))
        fail(reader, "expected", token);
}

/* ---- rules -------------------------------------------------------------------------------- */

static int add_node(struct reader *reader, enum kind kind, const char *name)
{
    struct jsgf *jsgf = reader->jsgf;
    if (jsgf->nodes == NODES_MAX) {
        fail(reader, "too many nodes at", name);
        return 0;
    }
    struct node *node = &jsgf->node[jsgf->nodes];
    *node = (struct node){.kind = kind, .child = -1, .next = -1};
    text_copy(node->name, sizeof node->name, name);
    return jsgf->nodes++;
}

/* "<rule>" or "<grammar.rule>" into "grammar.rule". */
static void full_name(struct reader *reader, const char *token, char *out)
{
    struct text text = text_into(out, NAME);
    if (strchr(token, '.') == NULL)
        text_addf(&text, "%s.", reader->grammar);
    text_add_n(&text, token + 1, strlen(token) - 2);
    if (text.cut)
        fail(reader, "name too long:", token);
}

static int read_alternatives(struct reader *reader);

static int read_item(struct reader *reader)
{
    char token[NAME], name[NAME];
    text_copy(token, sizeof token, reader->token);
    next_token(reader);
    if (strcmp(token, "(") == 0 || strcmp(token, "[") == 0) {
        int inside = read_alternatives(reader);
        expect(reader, token[0] == '(' ? ")" : "]");
        if (token[0] == '(')
            return inside;
        int optional = add_node(reader, OPTIONAL, "");
        reader->jsgf->node[optional].child = inside;
        return optional;
    }
    if (token[0] == '<') {
        full_name(reader, token, name);
        return add_node(reader, RULE, name);
    }
    if (strchr("=;|)]*+/{}", token[0]) != NULL)
        fail(reader, "not understood:", token);
    return add_node(reader, WORD, token);
}

static void append(struct jsgf *jsgf, int parent, int child)
{
    int *link = &jsgf->node[parent].child;
    while (*link >= 0)
        link = &jsgf->node[*link].next;
    *link = child;
}

static int read_sequence(struct reader *reader)
{
    int sequence = add_node(reader, SEQUENCE, "");
    do {
        int item = read_item(reader);
        if (!reader->failed)
            append(reader->jsgf, sequence, item);
    } while (!reader->failed && strchr("|;)]", reader->token[0]) == NULL);
    return sequence;
}

static int read_alternatives(struct reader *reader)
{
    int alternatives = add_node(reader, ALTERNATIVES, "");
    do {
        int sequence = read_sequence(reader);
        if (!reader->failed)
            append(reader->jsgf, alternatives, sequence);
    } while (take(reader, "|"));
    return alternatives;
}

static const struct rule *find_rule(const struct jsgf *jsgf, const char *name)
{
    for (int i = 0; i < jsgf->rules; i++) {
        if (strcmp(jsgf->rule[i].name, name) == 0)
            return &jsgf->rule[i];
    }
    return NULL;
}

static void read_rule(struct reader *reader)
{
    char name[NAME];
    bool is_public = take(reader, "public");
    if (reader->token[0] != '<') {
        fail(reader, "expected a rule, not", reader->token);
        return;
    }
    full_name(reader, reader->token, name);
    next_token(reader);
    expect(reader, "=");
    int node = read_alternatives(reader);
    expect(reader, ";");
    if (find_rule(reader->jsgf, name) != NULL || reader->jsgf->rules == RULES_MAX)
        fail(reader, "rule given twice, or one too many:", name);
    if (reader->failed)
        return;
    struct rule *rule = &reader->jsgf->rule[reader->jsgf->rules++];
    text_copy(rule->name, sizeof rule->name, name);
    rule->node = node;
    rule->is_public = is_public;
}

/* import <grammar.rule>; the file beside this one. */
static void read_import(struct reader *reader)
{
    char name[NAME];
    full_name(reader, reader->token, name);
    next_token(reader);
    expect(reader, ";");
    char *dot = strchr(name, '.');
    if (reader->failed || dot == NULL || find_rule(reader->jsgf, name) != NULL)
        return;
    char grammar[NAME] = "";
    memcpy(grammar, name, (size_t)(dot - name));
    if (!load_file(reader->jsgf, reader->directory, grammar, reader->why))
        reader->failed = true;
    const struct rule *rule = find_rule(reader->jsgf, name);
    if (rule == NULL || !rule->is_public)
        fail(reader, "no public rule", name);
}

static void read_grammar(struct reader *reader, const char *name)
{
    static const char header[] = "#JSGF V1.0;";
    if (strncmp(reader->at, header, sizeof header - 1) != 0)
        fail(reader, "the file does not begin with", header);
    reader->at += reader->failed ? 0 : sizeof header - 1;
    next_token(reader);
    expect(reader, "grammar");
    expect(reader, name);
    expect(reader, ";");
    while (!reader->failed && take(reader, "import"))
        read_import(reader);
    while (!reader->failed && reader->token[0] != '\0')
        read_rule(reader);
}

static bool load_file(struct jsgf *jsgf, const char *directory, const char *name, char *why)
{
    static const char suffix[] = ".gram";
    char path[512];
    char *contents = calloc(1, FILE_MAX);
    struct reader reader = {.jsgf = jsgf,
                            .directory = directory,
                            .why = why,
                            .at = contents,
                            .failed = contents == NULL};
    text_copy(reader.grammar, sizeof reader.grammar, name);
    snprintf(path, sizeof path, "%s/%s%s", directory, name, suffix);
    FILE *file = fopen(path, "r");
    if (file == NULL || contents == NULL || fread(contents, 1, FILE_MAX - 1, file) == 0)
        fail(&reader, "cannot read", path);
    if (file != NULL)
        fclose(file);
    if (!reader.failed)
        read_grammar(&reader, name);
    free(contents);
    return !reader.failed;
}

/* ---- counting ----------------------------------------------------------------------------- */

static uint64_t multiply(uint64_t a, uint64_t b)
{
    return b != 0 && a > UINT64_MAX / b ? UINT64_MAX : a * b;
}

static uint64_t plus(uint64_t a, uint64_t b)
{
    return a > UINT64_MAX - b ? UINT64_MAX : a + b;
}

/* False when a rule is missing or leads back to itself. */
static bool count_node(struct jsgf *jsgf, int index, int depth, char *why)
{
    struct node *node = &jsgf->node[index];
    if (node->count > 0)
        return true;
    if (node->kind == RULE) {
        const struct rule *rule = find_rule(jsgf, node->name);
        if (rule == NULL || depth > DEPTH_MAX) {
            snprintf(why, JSGF_WHY, "%s is missing or refers to itself", node->name);
            return false;
        }
        node->child = rule->node;
    }
    uint64_t count = node->kind == ALTERNATIVES ? 0 : 1;
    for (int child = node->child; child >= 0; child = jsgf->node[child].next) {
        if (!count_node(jsgf, child, depth + 1, why))
            return false;
        uint64_t inside = jsgf->node[child].count;
        count = node->kind == SEQUENCE || node->kind == RULE ? multiply(count, inside)
                                                             : plus(count, inside);
    }
    node->count = count;
    return true;
}

struct jsgf *jsgf_load(const char *directory, const char *name, char why[JSGF_WHY])
{
    struct jsgf *jsgf = calloc(1, sizeof *jsgf);
    if (jsgf == NULL)
        return NULL;
    snprintf(why, JSGF_WHY, "%s has not exactly one public rule <%s>", name, name);
    char full[2 * NAME];
    snprintf(full, sizeof full, "%s.%s", name, name);
    bool loaded = load_file(jsgf, directory, name, why);
    const struct rule *rule = loaded ? find_rule(jsgf, full) : NULL;
    if (rule == NULL || !rule->is_public || !count_node(jsgf, rule->node, 0, why)) {
        free(jsgf);
        return NULL;
    }
    jsgf->root = rule->node;
    return jsgf;
}

void jsgf_free(struct jsgf *jsgf)
{
    free(jsgf);
}

uint64_t jsgf_count(const struct jsgf *jsgf)
{
    return jsgf->node[jsgf->root].count;
}

/* ---- sentences ---------------------------------------------------------------------------- */

static void write_node(struct jsgf *jsgf, int index, uint64_t k, struct text *out)
{
    struct node *node = &jsgf->node[index];
    switch (node->kind) {
    case WORD:
        text_addf(out, "%s%s", out->used > 0 ? " " : "", node->name);
        node->used = true;
        return;
    case OPTIONAL:
        if (k > 0)
            write_node(jsgf, node->child, k - 1, out);
        return;
    case RULE:
        write_node(jsgf, node->child, k, out);
        return;
    case ALTERNATIVES:
        for (int child = node->child; child >= 0; child = jsgf->node[child].next) {
            uint64_t count = jsgf->node[child].count;
            if (k < count) {
                write_node(jsgf, child, k, out);
                return;
            }
            k -= count;
        }
        return;
    case SEQUENCE:
        for (int child = node->child; child >= 0; child = jsgf->node[child].next) {
            uint64_t count = jsgf->node[child].count;
            write_node(jsgf, child, k % count, out);
            k /= count;
        }
        return;
    }
}

void jsgf_sentence(struct jsgf *jsgf, uint64_t k, char *out, size_t size)
{
    struct text text = text_into(out, size);
    write_node(jsgf, jsgf->root, k, &text);
}

const char *jsgf_unused_word(const struct jsgf *jsgf)
{
    for (int i = 0; i < jsgf->nodes; i++) {
        const struct node *node = &jsgf->node[i];
        if (node->kind == WORD && !node->used)
            return node->name;
    }
    return NULL;
}

/* ---- recognition -------------------------------------------------------------------------- */

struct tokens {
    char text[512];
    const char *token[64];
    int n;
};

/* From the set of positions where the node may begin to the set where it may end, a bit each. */
static uint64_t match(const struct jsgf *jsgf, int index, const struct tokens *tokens,
                      uint64_t from)
{
    const struct node *node = &jsgf->node[index];
    uint64_t to = 0;
    if (from == 0)
        return 0;
    switch (node->kind) {
    case WORD:
        for (int i = 0; i < tokens->n; i++) {
            if ((from >> i & 1) != 0 && strcmp(tokens->token[i], node->name) == 0)
                to |= UINT64_C(1) << (i + 1);
        }
        return to;
    case OPTIONAL:
        return from | match(jsgf, node->child, tokens, from);
    case RULE:
        return match(jsgf, node->child, tokens, from);
    case ALTERNATIVES:
        for (int child = node->child; child >= 0; child = jsgf->node[child].next)
            to |= match(jsgf, child, tokens, from);
        return to;
    case SEQUENCE:
        for (int child = node->child; child >= 0; child = jsgf->node[child].next)
            from = match(jsgf, child, tokens, from);
        return from;
    }
    return 0;
}

bool jsgf_accepts(const struct jsgf *jsgf, const char *sentence)
{
    struct tokens tokens = {.n = 0};
    if (!text_copy(tokens.text, sizeof tokens.text, sentence))
        return false;
    for (char *at = tokens.text + strspn(tokens.text, " "); *at != '\0';) {
        if (tokens.n == 63)
            return false;
        tokens.token[tokens.n++] = at;
        at += strcspn(at, " ");
        if (*at != '\0')
            *at++ = '\0';
        at += strspn(at, " ");
    }
    return (match(jsgf, jsgf->root, &tokens, 1) >> tokens.n & 1) != 0;
}
