/*
 * The grammar's automaton times the automaton that knows how much of a left-out sentence has been
 * said so far (a trie). As soon as the words leave the trie they are in a plain copy of the
 * grammar; a path that ends at the end of a left-out sentence has no way to the final state.
 */
#include "speech/rival.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum { NODES = SPEECH_RIVALS * SPEECH_RIVAL_WORDS + 1, PAIRS = 8192, OUTSIDE = -1 };

struct node {
    int word; /* in the grammar's own numbering */
    int parent;
    bool end; /* a left-out sentence ends here */
};

struct product {
    fsg_model_t *from, *to;
    struct node node[NODES]; /* node 0: nothing said yet */
    int nodes;
    struct pair {
        int state, node;
    } pair[PAIRS]; /* pair i is state number from->n_state + i of the product */
    int pairs;
};

static int child(const struct product *product, int parent, int word)
{
    for (int n = 1; n < product->nodes; n++)
        if (product->node[n].parent == parent && product->node[n].word == word)
            return n;
    return OUTSIDE;
}

static bool plant(struct product *product, const char *sentence)
{
    int at = 0;
    while (*sentence != '\0') {
        char word[64];
        size_t length = strcspn(sentence, " ");
        if (length >= sizeof word)
            return false;
        memcpy(word, sentence, length);
        word[length] = '\0';
        sentence += length + strspn(sentence + length, " ");
        int id = fsg_model_word_id(product->from, word);
        int next = child(product, at, id);
        if (next == OUTSIDE) {
            if (id < 0 || product->nodes == NODES)
                return false;
            next = product->nodes++;
            product->node[next] = (struct node){.word = id, .parent = at};
        }
        at = next;
    }
    product->node[at].end = true;
    return true;
}

/* The product's number of (state, node), made when first met; OUTSIDE when there is no room, or
 * when it would end a left-out sentence. */
static int number_of(struct product *product, int state, int node)
{
    if (node == OUTSIDE)
        return state;
    if (state == fsg_model_final_state(product->from))
        return product->node[node].end ? OUTSIDE : state;
    for (int p = 0; p < product->pairs; p++)
        if (product->pair[p].state == state && product->pair[p].node == node)
            return fsg_model_n_state(product->from) + p;
    if (product->pairs == PAIRS)
        return OUTSIDE;
    product->pair[product->pairs] = (struct pair){state, node};
    return fsg_model_n_state(product->from) + product->pairs++;
}

struct arc {
    int from, to, word, cost;
};

struct arcs {
    struct arc *arc;
    size_t count, room;
};

static bool add_arc(struct arcs *arcs, struct arc arc)
{
    if (arcs->count == arcs->room) {
        size_t room = arcs->room == 0 ? 1024 : arcs->room * 2;
        struct arc *grown = realloc(arcs->arc, room * sizeof *grown);
        if (grown == NULL)
            return false;
        arcs->arc = grown;
        arcs->room = room;
    }
    arcs->arc[arcs->count++] = arc;
    return true;
}

/* The arcs out of (state, node), node OUTSIDE being the plain copy. */
static bool copy_arcs(struct product *product, struct arcs *arcs, int state, int node)
{
    int from = number_of(product, state, node);
    bool copied = true;
    for (fsg_arciter_t *a = fsg_model_arcs(product->from, state); a != NULL;
         a = fsg_arciter_next(a)) {
        fsg_link_t *link = fsg_arciter_get(a);
        int word = fsg_link_wid(link);
        int next = node == OUTSIDE || word < 0 ? node : child(product, node, word);
        int to = number_of(product, fsg_link_to_state(link), next);
        struct arc arc = {from, to, word, fsg_link_logs2prob(link)};
        copied = copied && (to == OUTSIDE || add_arc(arcs, arc));
    }
    return copied;
}

static fsg_model_t *build(const struct product *product, const struct arcs *arcs, logmath_t *logs)
{
    int states = fsg_model_n_state(product->from) + product->pairs;
    fsg_model_t *to = fsg_model_init("rival", logs, product->from->lw, states);
    if (to == NULL)
        return NULL;
    for (int w = 0; w < fsg_model_n_word(product->from); w++)
        fsg_model_word_add(to, fsg_model_word_str(product->from, w));
    for (size_t i = 0; i < arcs->count; i++) {
        struct arc arc = arcs->arc[i];
        if (arc.word < 0)
            fsg_model_null_trans_add(to, arc.from, arc.to, arc.cost);
        else
            fsg_model_trans_add(to, arc.from, arc.to, arc.cost, arc.word);
    }
    to->start_state = fsg_model_n_state(product->from); /* pair 0 */
    to->final_state = fsg_model_final_state(product->from);
    return to;
}

fsg_model_t *speech_rival_fsg(fsg_model_t *plain, logmath_t *logs, const char *const sentences[],
                              size_t count)
{
    struct product *product = calloc(1, sizeof *product);
    struct arcs arcs = {0};
    bool right = product != NULL && count <= SPEECH_RIVALS;
    fsg_model_t *made = NULL;
    if (right) {
        product->from = plain;
        product->nodes = 1;
        for (size_t s = 0; right && s < count; s++)
            right = plant(product, sentences[s]);
        number_of(product, fsg_model_start_state(plain), 0);
        for (int p = 0; right && p < product->pairs; p++)
            right = copy_arcs(product, &arcs, product->pair[p].state, product->pair[p].node);
        for (int s = 0; right && s < fsg_model_n_state(plain); s++)
            right = copy_arcs(product, &arcs, s, OUTSIDE);
    }
    if (right)
        made = build(product, &arcs, logs);
    free(arcs.arc);
    free(product);
    return made;
}

/* ---- numbers from ten on ---- */

/* They are many and like each other: "sixteen" and "sixty" are mixed up by every listener. */
static const char *const from_ten_on[] = {
    "ten",     "eleven",    "twelve",   "thirteen", "fourteen", "fifteen",
    "sixteen", "seventeen", "eighteen", "nineteen", "twenty",   "thirty",
    "forty",   "fifty",     "sixty",    "seventy",  "eighty",   "ninety",
};
enum { FROM_TEN_ON = sizeof from_ten_on / sizeof from_ten_on[0] };

struct spot {
    const char *word;
    size_t length;
};

static struct spot first_of(const char *words)
{
    return (struct spot){words, strcspn(words, " ")};
}

static const char *after(struct spot spot)
{
    return spot.word + spot.length + strspn(spot.word + spot.length, " ");
}

static bool are_same(struct spot a, struct spot b)
{
    return a.length == b.length && strncmp(a.word, b.word, a.length) == 0;
}

static bool is_from_ten_on(struct spot spot)
{
    for (size_t n = 0; n < FROM_TEN_ON; n++)
        if (are_same(spot, first_of(from_ten_on[n])))
            return true;
    return false;
}

bool speech_other_tens(const char *words, const char *other)
{
    if (*other == '\0')
        return false;
    while (*words != '\0') {
        struct spot a = first_of(words), b = first_of(other);
        if (is_from_ten_on(a) && !are_same(a, b))
            return true;
        words = after(a);
        other = after(b);
    }
    return false;
}

/* ---- a digit, a word ---- */

static bool is_digit(struct spot spot)
{
    static const char *const digits[] = {"zero", "oh",  "one",   "two",   "three", "four",
                                         "five", "six", "seven", "eight", "nine",  "niner"};
    for (size_t d = 0; d < sizeof digits / sizeof digits[0]; d++)
        if (are_same(spot, first_of(digits[d])))
            return true;
    return false;
}

/* Past the words that both begin with. */
static void skip_alike(const char **words, const char **other)
{
    while (**words != '\0' && are_same(first_of(*words), first_of(*other))) {
        *words = after(first_of(*words));
        *other = after(first_of(*other));
    }
}

bool speech_other_digit(const char *words, const char *other)
{
    skip_alike(&words, &other);
    struct spot a = first_of(words), b = first_of(other);
    return is_digit(a) && is_digit(b) && strcmp(after(a), after(b)) == 0;
}

bool speech_other_shorter(const char *words, const char *other)
{
    if (*other == '\0')
        return false;
    skip_alike(&words, &other);
    return *words != '\0' && strcmp(after(first_of(words)), other) == 0;
}
