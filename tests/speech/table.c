/*
 * What bench-ear heard, as a table in Markdown or as a picture.
 *   bench-table ROWS.tsv... > table.md
 *   bench-table plot ROWS.tsv... > plot.svg
 *   bench-table judge ROWS.tsv... > table.md     # the same signs under the verdict of today
 * Percent, each with its 95 % interval (Wilson's score interval).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../measure/share.h"
#include "plot.h"
#include "speech/verdict.h"
#include "tally.h"

static void print_share(int part, int whole)
{
    struct share share = share_of(part, whole);
    if (whole == 0)
        printf(" – |");
    else
        printf(" %.1f [%.1f, %.1f] |", 100 * share.value, 100 * share.low, 100 * share.high);
}

static void print_level(int snr_db)
{
    if (snr_db == ROWS_QUIET_DB)
        printf(" quiet |");
    else
        printf(" %d dB |", snr_db);
}

static void print_way(const struct tallies *way)
{
    printf("\n| %s | noise under it | said | right at once | asked, right one offered | asked | "
           "rejected | **wrong at once** | best reading right | stock right | stock wrong |\n"
           "|---|---|---|---|---|---|---|---|---|---|---|\n",
           way->by);
    for (size_t k = 0; k < way->keys; k++)
        for (size_t l = 0; l < TALLY_LEVELS; l++) {
            const struct tally *t = &way->at[k][l];
            if (t->said == 0)
                continue;
            printf("| %s |", way->name[k]);
            print_level(tally_levels[l]);
            printf(" %d |", t->said);
            print_share(t->right, t->said);
            print_share(t->offered, t->said);
            print_share(t->asked, t->said);
            print_share(t->rejected, t->said);
            print_share(t->wrong, t->said);
            print_share(t->heard, t->said);
            print_share(t->stock_right, t->stock_said);
            print_share(t->stock_wrong, t->stock_said);
            putchar('\n');
        }
}

static void print_chatter(const struct tallies *chatter)
{
    printf("\n| sentences that are no answer | said | believed | asked about | stock believed |\n"
           "|---|---|---|---|---|\n");
    for (size_t l = 0; chatter->keys > 0 && l < TALLY_LEVELS; l++) {
        const struct tally *t = &chatter->at[0][l];
        if (t->said == 0)
            continue;
        putchar('|');
        print_level(tally_levels[l]);
        printf(" %d |", t->said);
        print_share(t->wrong, t->said);
        print_share(t->asked, t->said);
        print_share(t->stock_wrong, t->stock_said);
        putchar('\n');
    }
}

static void print_costs(const struct tally_costs *costs)
{
    double ear = costs->sound_s > 0 ? costs->ear_s / costs->sound_s : 0;
    double stock = costs->stock_sound_s > 0 ? costs->stock_s / costs->stock_sound_s : 0;
    printf("\nProcessor time a second of sound: midthrow %.3f s, stock %.3f s", ear, stock);
    if (stock > 0)
        printf(", %.1f times as much", ear / stock);
    printf("; %.0f s of sound.\n", costs->sound_s);
}

static void take_judged(void *book, const struct row *row)
{
    struct row judged = *row;
    judged.score = speech_score(&row->signs);
    snprintf(judged.verdict, sizeof judged.verdict, "%s",
             speech_verdict_name(speech_judge(&row->signs, judged.score)));
    tally_take(book, &judged);
}

int main(int argc, char **argv)
{
    static struct tally_book book;
    bool plot = argc > 1 && strcmp(argv[1], "plot") == 0;
    bool judge = argc > 1 && strcmp(argv[1], "judge") == 0;
    int first = plot || judge ? 2 : 1;
    if (argc <= first) {
        fputs("usage: bench-table [plot | judge] ROWS.tsv...\n", stderr);
        return 2;
    }
    tally_open(&book);
    for (int a = first; a < argc; a++) {
        if (!rows_read_file(argv[a], judge ? take_judged : tally_take, &book)) {
            fprintf(stderr, "'%s' holds no rows of this bench: run bench-ear again.\n", argv[a]);
            return 1;
        }
    }
    if (plot) {
        plot_write(stdout, &book.way[TALLY_ALL]);
        return 0;
    }
    for (size_t w = 0; w < TALLY_WAYS; w++)
        print_way(&book.way[w]);
    print_chatter(&book.chatter);
    print_costs(&book.costs);
    return 0;
}
