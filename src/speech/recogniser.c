/*
 * PocketSphinx with its front end taken in hand: one decoder, a search for each grammar, and one
 * for talk of any kind beside them.
 */
#include "speech/recogniser.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <sphinxbase/err.h>
#include <sphinxbase/jsgf.h>

#include "base/text.h"
#include "speech/front.h"
#include "speech/grammar_file.h"
#include "speech/recogniser_inside.h"
#include "speech/rival.h"
#include "speech/search.h"
#include "speech/talk.h"
#include "speech/verdict.h"

#ifndef MIDTHROW_MODEL_DIR
#define MIDTHROW_MODEL_DIR "/usr/share/pocketsphinx/model/en-us"
#endif

static const char TALK[] = "_talk"; /* names of searches that are no grammar's */
static const char COMPARE[] = "_compare";

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

/* ---- setting up ---- */

static bool there(const char *path, const char *what, struct fault *fault)
{
    return access(path, R_OK) == 0 ||
           fault_set(fault, FAULT_MISSING, "%s '%s' is not there: install pocketsphinx-en-us.",
                     what, path);
}

/* The beams are wider than the library's so that the rival survives; narrower ones were not
 * searched for. -bestpath no: the lattice's nodes forget the grammar's state, so that what a search
 * over it finds need not be a sentence of the grammar. -fwdflat no, -pl_window 0: talk is searched
 * once; looking ahead, the library would lose its place in a table of scores. -latsize: room for
 * talk's words over 20 s of noise (four million of its scores were filled in 8 s), so that it is
 * not doubled in the middle of a job; what is not used takes no memory. -wip: each word costs six
 * nats more than the library has it (both times -lw, 6.5): of the tuning voices' readings of
 * another value most had grown a word ("eight two" for "eight"), and few had lost one. -silprob
 * gives silence, which counts as a word, the six nats back. */
static cmd_ln_t *options_for(const char *model)
{
    return cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", model, "-dict", "/dev/null",
                       "-remove_silence", "no", "-remove_noise", "yes", "-bestpath", "no",
                       "-fwdflat", "no", "-pl_window", "0", "-latsize", "400000", "-beam", "1e-70",
                       "-pbeam", "1e-70", "-wbeam", "1e-50", "-wip", "0.258", "-silprob", "0.0126",
                       NULL);
}

static bool start_decoder(struct speech_recogniser *recogniser, const char *model, const char *talk,
                          struct fault *fault)
{
    err_set_logfp(NULL); /* the library writes pages to standard error */
    recogniser->options = options_for(model);
    if (recogniser->options != NULL)
        recogniser->decoder = ps_init(recogniser->options);
    if (recogniser->decoder == NULL)
        return fault_set(fault, FAULT_MISSING,
                         "'%s' is no acoustic model that can be used: install pocketsphinx-en-us.",
                         model);
    recogniser->cepstra = speech_cepstra_open(recogniser->options, model, fault);
    if (recogniser->cepstra == NULL)
        return false;
    return speech_talk_open(recogniser->decoder, recogniser->options, &recogniser->lexicon, talk,
                            TALK, fault);
}

static bool open_all(struct speech_recogniser *recogniser, const struct speech_config *config,
                     struct fault *fault)
{
    const char *model = config->model_dir ? config->model_dir : MIDTHROW_MODEL_DIR "/en-us";
    const char *stock =
        config->dictionary ? config->dictionary : MIDTHROW_MODEL_DIR "/cmudict-en-us.dict";
    char shop[sizeof recogniser->grammar_dir + 16], talk[sizeof recogniser->grammar_dir + 16];
    if (!text_copy(recogniser->grammar_dir, sizeof recogniser->grammar_dir, config->grammar_dir))
        return fault_set(fault, FAULT_USAGE, "the grammar folder's name is too long.");
    snprintf(shop, sizeof shop, "%s/shop.dict", recogniser->grammar_dir);
    snprintf(talk, sizeof talk, "%s/talk.lm", recogniser->grammar_dir);
    recogniser->same_meaning = config->same_meaning;
    recogniser->is_command = config->is_command;
    recogniser->live = config->live;
    if (access(recogniser->grammar_dir, R_OK) != 0)
        return fault_set(fault, FAULT_MISSING,
                         "the grammar folder '%s' is not there: install midthrow.",
                         recogniser->grammar_dir);
    return there(model, "the acoustic model", fault) && there(stock, "the dictionary", fault) &&
           speech_lexicon_open(&recogniser->lexicon, stock, shop, fault) &&
           start_decoder(recogniser, model, config->talk_model ? config->talk_model : talk, fault);
}

struct speech_recogniser *speech_recogniser_create(const struct speech_config *config,
                                                   struct fault *fault)
{
    struct speech_recogniser *recogniser = calloc(1, sizeof *recogniser);
    if (recogniser == NULL) {
        out_of_memory(fault);
        return NULL;
    }
    if (!open_all(recogniser, config, fault)) {
        speech_recogniser_destroy(recogniser);
        return NULL;
    }
    return recogniser;
}

void speech_recogniser_destroy(struct speech_recogniser *recogniser)
{
    if (recogniser == NULL)
        return;
    for (size_t i = 0; i < recogniser->grammar_count; i++)
        fsg_model_free(recogniser->grammars[i].plain);
    if (recogniser->decoder != NULL)
        ps_free(recogniser->decoder);
    if (recogniser->options != NULL)
        cmd_ln_free_r(recogniser->options);
    speech_lexicon_close(&recogniser->lexicon);
    speech_cepstra_close(recogniser->cepstra);
    free(recogniser->kept);
    free(recogniser);
}

void speech_recogniser_know(struct speech_recogniser *recogniser,
                            const struct speech_phonetic *person)
{
    speech_cepstra_know(recogniser->cepstra, person);
}

/* ---- grammars ---- */

static fsg_model_t *build_fsg(struct speech_recogniser *recogniser, const char *path)
{
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    if (jsgf == NULL)
        return NULL;
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    fsg_model_t *fsg = NULL;
    if (rule != NULL)
        fsg = jsgf_build_fsg(jsgf, rule, ps_get_logmath(recogniser->decoder),
                             (float32)cmd_ln_float_r(recogniser->options, "-lw"));
    jsgf_grammar_free(jsgf);
    return fsg;
}

static bool teach_words(struct speech_recogniser *recogniser, const fsg_model_t *fsg,
                        struct fault *fault)
{
    size_t count = (size_t)fsg_model_n_word(fsg);
    const char **words = calloc(count + 1, sizeof *words);
    if (words == NULL)
        return out_of_memory(fault);
    for (size_t i = 0; i < count; i++)
        words[i] = fsg_model_word_str(fsg, (int32)i);
    bool taught =
        speech_lexicon_teach(&recogniser->lexicon, recogniser->decoder, words, count, fault);
    free(words);
    return taught;
}

/* The grammar's sentences and all beginnings of them. */
static bool load_beginnings(struct speech_recogniser *recogniser, const char *begun,
                            const char *path)
{
    fsg_model_t *fsg = build_fsg(recogniser, path);
    if (fsg == NULL)
        return false;
    int start = fsg_model_start_state(fsg), final = fsg_model_final_state(fsg);
    for (int s = 0; s < fsg_model_n_state(fsg); s++)
        if (s != start && s != final)
            fsg_model_null_trans_add(fsg, s, final, 0);
    glist_free(fsg_model_null_trans_closure(fsg, NULL));
    bool set = ps_set_fsg(recogniser->decoder, begun, fsg) == 0;
    fsg_model_free(fsg);
    return set;
}

static bool load_grammar(struct speech_recogniser *recogniser, struct grammar *grammar,
                         const char *name, const char *path, struct fault *fault)
{
    fsg_model_t *fsg = build_fsg(recogniser, path); /* the decoder's: it adds to it */
    grammar->plain = build_fsg(recogniser, path);
    snprintf(grammar->begun, sizeof grammar->begun, RECOGNISER_BEGUN "%s", name);
    bool loaded = fsg != NULL && grammar->plain != NULL;
    if (!loaded)
        fault_set(fault, FAULT_FAILED, "the grammar '%s' cannot be read: mend its JSGF.", path);
    loaded = loaded && teach_words(recogniser, fsg, fault);
    if (loaded && ps_set_fsg(recogniser->decoder, name, fsg) != 0)
        loaded = fault_set(fault, FAULT_FAILED,
                           "the grammar '%s' cannot be searched: mend its JSGF.", path);
    fsg_model_free(fsg);
    if (loaded && recogniser->live && !load_beginnings(recogniser, grammar->begun, path))
        loaded = out_of_memory(fault);
    return loaded;
}

/* A name becomes part of a path: letters, digits, '_' and '-' only. */
static bool plain_name(const char *name)
{
    size_t length =
        strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-");
    return length > 0 && length < RECOGNISER_NAME && name[length] == '\0' && name[0] != '_';
}

static const struct grammar *grammar_named(struct speech_recogniser *recogniser, const char *name,
                                           struct fault *fault)
{
    for (size_t i = 0; i < recogniser->grammar_count; i++)
        if (strcmp(recogniser->grammars[i].name, name) == 0)
            return &recogniser->grammars[i];
    char path[sizeof recogniser->grammar_dir + RECOGNISER_NAME + 16];
    snprintf(path, sizeof path, "%s/%.*s.gram", recogniser->grammar_dir, RECOGNISER_NAME, name);
    if (!plain_name(name) || access(path, R_OK) != 0) {
        fault_set(fault, FAULT_USAGE, "there is no grammar '%s': see midthrow listen --grammars.",
                  name);
        return NULL;
    }
    if (recogniser->grammar_count == RECOGNISER_GRAMMARS) {
        fault_set(fault, FAULT_FAILED, "more than %d grammars are in use.",
                  (int)RECOGNISER_GRAMMARS);
        return NULL;
    }
    if (!grammar_file_check(recogniser->grammar_dir, name, NULL, fault))
        return NULL;
    struct grammar *grammar = &recogniser->grammars[recogniser->grammar_count];
    if (!load_grammar(recogniser, grammar, name, path, fault)) {
        fsg_model_free(grammar->plain);
        grammar->plain = NULL;
        return NULL;
    }
    text_copy(grammar->name, sizeof grammar->name, name);
    recogniser->grammar_count++;
    return grammar;
}

/* ---- what else it could have been ---- */

static bool same(const struct speech_recogniser *recogniser, const char *grammar, const char *words,
                 const char *other)
{
    if (recogniser->same_meaning != NULL)
        return recogniser->same_meaning(grammar, words, other);
    return strcmp(words, other) == 0;
}

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

enum rival { RIVAL_NONE, RIVAL_SAME, RIVAL_FOUND };

/* The best reading that means something else than `best`. Readings that mean the same ("forty
 * thou", "forty thousandths") are left out one after the other; RIVAL_SAME: all that were tried do,
 * and what means something else fits no better than the last of them. */
static enum rival find_rival(struct speech_recogniser *recogniser, const struct grammar *grammar,
                             const struct speech_scores *scores, const struct speech_path *best,
                             struct speech_path *rival)
{
    char sentence[SPEECH_RIVALS][SPEECH_WORDS];
    const char *out[SPEECH_RIVALS];
    text_copy(sentence[0], SPEECH_WORDS, best->words);
    for (size_t left_out = 1; left_out <= SPEECH_RIVALS; left_out++) {
        out[left_out - 1] = sentence[left_out - 1];
        fsg_model_t *fsg =
            speech_rival_fsg(grammar->plain, ps_get_logmath(recogniser->decoder), out, left_out);
        if (fsg == NULL)
            return left_out > 1 ? RIVAL_SAME : RIVAL_NONE;
        bool set = ps_set_fsg(recogniser->decoder, COMPARE, fsg) == 0;
        fsg_model_free(fsg);
        if (!set || !speech_search(recogniser->decoder, COMPARE, scores) ||
            !speech_path_read(recogniser->decoder, rival))
            return RIVAL_NONE;
        if (!same(recogniser, grammar->name, best->words, rival->words))
            return RIVAL_FOUND;
        if (left_out < SPEECH_RIVALS)
            text_copy(sentence[left_out], SPEECH_WORDS, rival->words);
    }
    return RIVAL_SAME;
}

/* Finds the margin. The first search may have pruned away what fits better in the end; the rival's
 * search, pruned differently, then finds it: it takes the first one's place. */
static void weigh_rivals(struct speech_recogniser *recogniser, const struct grammar *grammar,
                         const struct speech_scores *scores, struct speech_path *best,
                         struct speech_path *rival, struct speech_heard *heard,
                         struct speech_signs *signs)
{
    for (int swaps = 0; swaps < 3; swaps++) {
        enum rival found = find_rival(recogniser, grammar, scores, best, rival);
        signs->margin = found == RIVAL_NONE ? HUGE_VAL : best->nats - rival->nats;
        text_copy(heard->other, sizeof heard->other, found == RIVAL_FOUND ? rival->words : "");
        if (found != RIVAL_FOUND) {
            signs->margin = fmax(0, signs->margin);
            return;
        }
        if (signs->margin >= 0)
            return;
        text_copy(heard->other, sizeof heard->other, best->words);
        signs->margin = -signs->margin;
        *best = *rival;
    }
}

/* Both searches and the rival, over one sound that holds speech. */
static bool hear(struct speech_recogniser *recogniser, const struct grammar *grammar,
                 const struct speech_scores *scores, const float *loud_db,
                 struct speech_heard *heard, struct speech_signs *signs)
{
    ps_decoder_t *decoder = recogniser->decoder;
    double *talk = calloc(scores->frames + 1, sizeof *talk);
    struct speech_path *path = calloc(2, sizeof *path); /* the best and its rival */
    bool searched = talk != NULL && path != NULL && speech_search(decoder, TALK, scores);
    if (searched) {
        speech_path_frames(decoder, talk, scores->frames);
        searched = speech_search(decoder, grammar->name, scores);
    }
    if (searched && speech_path_read(decoder, &path[0])) {
        weigh_rivals(recogniser, grammar, scores, &path[0], &path[1], heard, signs);
        speech_path_weigh(decoder, &path[0], talk, scores, loud_db, signs);
        text_copy(heard->words, sizeof heard->words, path[0].words);
        signs->tens = speech_other_tens(heard->words, heard->other);
        signs->digit = speech_other_digit(heard->words, heard->other);
        signs->grown = speech_other_shorter(heard->words, heard->other);
        signs->command = recogniser->is_command != NULL && recogniser->is_command(heard->words);
    }
    free(path);
    free(talk);
    return searched;
}

static void judge(struct speech_heard *heard, const struct speech_signs *signs)
{
    heard->talk = signs->talk;
    heard->margin = signs->margin;
    heard->score = speech_score(signs);
    heard->verdict = speech_judge(signs, heard->score);
    heard->deafening = signs->speech_s > 0 && speech_deafening(signs);
}

/* What was rejected may be the beginning of anything: there it is not looked for. */
static bool find_so_far(struct speech_recogniser *recogniser, const struct grammar *grammar,
                        const struct speech_scores *scores, struct speech_heard *heard)
{
    if (!recogniser->live || heard->verdict == SPEECH_REJECTED)
        return true;
    struct speech_path *path = calloc(1, sizeof *path);
    bool searched = path != NULL && speech_search(recogniser->decoder, grammar->begun, scores);
    if (searched && speech_path_read(recogniser->decoder, path))
        text_copy(heard->so_far, sizeof heard->so_far, path->words);
    free(path);
    return searched;
}

/* A search keeps all it saw of its last utterance until its next one, and there are two searches a
 * grammar: a long day would leave the longest of each. An empty utterance makes it forget. */
static void forget(struct speech_recogniser *recogniser, const struct grammar *grammar)
{
    const char *const searches[] = {TALK, grammar->name, grammar->begun};
    ps_unset_search(recogniser->decoder, COMPARE);
    for (size_t i = 0; i < sizeof searches / sizeof searches[0]; i++)
        if (ps_set_search(recogniser->decoder, searches[i]) == 0 &&
            ps_start_utt(recogniser->decoder) == 0)
            ps_end_utt(recogniser->decoder);
}

static bool keep(struct speech_recogniser *recogniser, const int16_t *pcm, size_t frames)
{
    free(recogniser->kept);
    recogniser->kept_frames = frames;
    recogniser->kept = malloc((frames + 1) * sizeof *pcm);
    if (recogniser->kept != NULL)
        memcpy(recogniser->kept, pcm, frames * sizeof *pcm);
    return recogniser->kept != NULL;
}

bool speech_measure(struct speech_recogniser *recogniser, const char *grammar_name,
                    const int16_t *pcm, size_t frames, struct speech_heard *heard,
                    struct speech_signs *signs, struct fault *fault)
{
    double start = now_ms();
    *heard = (struct speech_heard){.verdict = SPEECH_REJECTED};
    *signs = (struct speech_signs){0};
    heard->audio_ms = (double)frames * 1e3 / SPEECH_RATE_HZ;
    const struct grammar *grammar = grammar_named(recogniser, grammar_name, fault);
    struct speech_front front;
    if (grammar == NULL)
        return false;
    if ((recogniser->keeps && !keep(recogniser, pcm, frames)) ||
        !speech_front_make(pcm, frames, &front))
        return out_of_memory(fault);
    heard->speech_share = front.speech_share;
    heard->snr_db = signs->snr_db = front.snr_db;
    signs->speech_s = (double)front.speech_steps * SPEECH_FRAME / SPEECH_RATE_HZ;
    bool any = front.speech_steps > 0;
    struct speech_scores scores = {0};
    bool done = !any || (speech_cepstra_score(recogniser->cepstra, &front, &scores) &&
                         hear(recogniser, grammar, &scores, front.loud_db, heard, signs));
    judge(heard, signs);
    if (any) {
        done = done && find_so_far(recogniser, grammar, &scores, heard);
        speech_scores_finish(&scores);
        forget(recogniser, grammar);
    }
    speech_front_finish(&front);
    heard->decode_ms = now_ms() - start;
    return done ||
           fault_set(fault, FAULT_FAILED, "the recogniser failed on this sound: say it again.");
}

bool speech_recognise(struct speech_recogniser *recogniser, const char *grammar, const int16_t *pcm,
                      size_t frames, struct speech_heard *heard, struct fault *fault)
{
    struct speech_signs signs;
    return speech_measure(recogniser, grammar, pcm, frames, heard, &signs, fault);
}

const char *speech_verdict_name(enum speech_verdict verdict)
{
    static const char *const names[] = {
        [SPEECH_ACCEPTED] = "accepted", [SPEECH_UNSURE] = "unsure", [SPEECH_REJECTED] = "rejected"};
    return names[verdict];
}
