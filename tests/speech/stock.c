/* The stock recogniser: see stock.h. */
#include "stock.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <pocketsphinx.h>
#include <sphinxbase/ckd_alloc.h>
#include <sphinxbase/err.h>

struct stock {
    cmd_ln_t *options;
    ps_decoder_t *decoder;
    char grammar_dir[512];
};

static const struct {
    const char *options, *cmn, *silence;
} ways[STOCK_WAYS] = {
    [STOCK_LIVE] = {"as it comes", "live", "yes"},
    [STOCK_BATCH_ALL_FRAMES] = {"-cmn batch -remove_silence no", "batch", "no"},
};

const char *stock_way_options(enum stock_way way)
{
    return ways[way].options;
}

/* Words of the grammars that the stock dictionary has not ("twelfths"), as shop.dict says them:
 * without them it would refuse the whole grammar. */
static void lend_missing_words(struct stock *stock)
{
    char path[1024], line[256];
    snprintf(path, sizeof path, "%s/shop.dict", stock->grammar_dir);
    FILE *file = fopen(path, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL) {
        size_t length = strcspn(line, " \t\n");
        char *phones = line + length + strspn(line + length, " \t");
        if (line[0] == '#' || length == 0 || line[length] == '\n')
            continue;
        line[length] = '\0';
        phones[strcspn(phones, "\n")] = '\0';
        char *known = ps_lookup_word(stock->decoder, line);
        if (known == NULL)
            ps_add_word(stock->decoder, line, phones, TRUE);
        ckd_free(known);
    }
    if (file != NULL)
        fclose(file);
}

struct stock *stock_create(const char *grammar_dir)
{
    return stock_create_way(grammar_dir, STOCK_LIVE);
}

struct stock *stock_create_way(const char *grammar_dir, enum stock_way way)
{
    struct stock *stock = calloc(1, sizeof *stock);
    if (stock == NULL)
        return NULL;
    err_set_logfp(NULL);
    snprintf(stock->grammar_dir, sizeof stock->grammar_dir, "%s", grammar_dir);
    stock->options = cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", MODEL_DIR "/en-us", "-dict",
                                 MODEL_DIR "/cmudict-en-us.dict", "-cmn", ways[way].cmn,
                                 "-remove_silence", ways[way].silence, NULL);
    stock->decoder = stock->options == NULL ? NULL : ps_init(stock->options);
    if (stock->decoder != NULL) {
        /* The model's own parameters say -cmn current, whatever the options said. */
        if (way != STOCK_LIVE)
            ps_get_feat(stock->decoder)->cmn = CMN_BATCH;
        lend_missing_words(stock);
        return stock;
    }
    stock_destroy(stock);
    return NULL;
}

void stock_destroy(struct stock *stock)
{
    if (stock == NULL)
        return;
    if (stock->decoder != NULL)
        ps_free(stock->decoder);
    if (stock->options != NULL)
        cmd_ln_free_r(stock->options);
    free(stock);
}

static bool choose_grammar(struct stock *stock, const char *grammar)
{
    char path[1024];
    if (ps_set_search(stock->decoder, grammar) == 0)
        return true;
    snprintf(path, sizeof path, "%s/%s.gram", stock->grammar_dir, grammar);
    return ps_set_jsgf_file(stock->decoder, grammar, path) == 0 &&
           ps_set_search(stock->decoder, grammar) == 0;
}

bool stock_hear(struct stock *stock, const char *grammar, const int16_t *pcm, size_t frames,
                char *words, size_t size)
{
    int32 score;
    if (!choose_grammar(stock, grammar) || ps_start_utt(stock->decoder) != 0)
        return false;
    ps_process_raw(stock->decoder, pcm, frames, FALSE, TRUE);
    if (ps_end_utt(stock->decoder) != 0)
        return false;
    const char *heard = ps_get_hyp(stock->decoder, &score);
    snprintf(words, size, "%s", heard == NULL ? "" : heard);
    return true;
}

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

double stock_reply_ms(struct stock *stock, const char *grammar, const int16_t *pcm, size_t frames,
                      size_t end)
{
    enum { BLOCK = 2048 };
    if (!choose_grammar(stock, grammar))
        return -1;
    ps_start_utt(stock->decoder);
    double now_ms = 0;
    bool begun = false;
    for (size_t at = 0; at < frames; at += BLOCK) {
        size_t n = frames - at < BLOCK ? frames - at : BLOCK;
        double arrived_ms = (double)(at + n) / 16, before_ms = cpu_ms();
        int32 score;
        ps_process_raw(stock->decoder, pcm + at, n, FALSE, FALSE);
        bool talking = ps_get_in_speech(stock->decoder);
        bool ended = begun && !talking;
        begun |= talking;
        if (ended) {
            ps_end_utt(stock->decoder);
            ps_get_hyp(stock->decoder, &score);
        }
        now_ms = (arrived_ms > now_ms ? arrived_ms : now_ms) + cpu_ms() - before_ms;
        if (ended && at + n > end)
            return now_ms - (double)end / 16;
        if (ended) { /* it heard a pause where the technician made none */
            ps_start_utt(stock->decoder);
            begun = false;
        }
    }
    ps_end_utt(stock->decoder);
    return -1;
}
