/* Stock PocketSphinx, live: see live_stock.h. */
#include "live_stock.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <pocketsphinx.h>
#include <sphinxbase/ckd_alloc.h>
#include <sphinxbase/err.h>

struct live_stock {
    cmd_ln_t *options;
    ps_decoder_t *decoder;
    const char *grammar_dir;
};

/* Words that the stock dictionary lacks, as shop.dict says them: without them it refuses the whole
 * grammar. */
static void lend_missing_words(struct live_stock *stock)
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

struct live_stock *live_stock_create(const char *grammar_dir)
{
    struct live_stock *stock = calloc(1, sizeof *stock);
    if (stock == NULL)
        return NULL;
    err_set_logfp(NULL);
    stock->grammar_dir = grammar_dir;
    stock->options = cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", MODEL_DIR "/en-us", "-dict",
                                 MODEL_DIR "/cmudict-en-us.dict", NULL);
    stock->decoder = stock->options == NULL ? NULL : ps_init(stock->options);
    if (stock->decoder == NULL) {
        live_stock_destroy(stock);
        return NULL;
    }
    lend_missing_words(stock);
    return stock;
}

void live_stock_destroy(struct live_stock *stock)
{
    if (stock->decoder != NULL)
        ps_free(stock->decoder);
    if (stock->options != NULL)
        cmd_ln_free_r(stock->options);
    free(stock);
}

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

double live_stock_reply_ms(struct live_stock *stock, const char *grammar, const int16_t *pcm,
                           size_t frames, size_t end)
{
    enum { BLOCK = 2048 };
    char path[1024];
    snprintf(path, sizeof path, "%s/%s.gram", stock->grammar_dir, grammar);
    if (ps_set_search(stock->decoder, grammar) != 0 &&
        (ps_set_jsgf_file(stock->decoder, grammar, path) != 0 ||
         ps_set_search(stock->decoder, grammar) != 0))
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
