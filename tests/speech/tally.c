/* Counting rows: see tally.h. */
#include "tally.h"

#include <stdio.h>
#include <string.h>

const int tally_levels[TALLY_LEVELS] = {ROWS_QUIET_DB, 20, 10, 5, 0};

static bool is_chatter(const struct row *row)
{
    return strcmp(row->class, "chatter") == 0;
}

static const char *key_all(const struct row *row)
{
    return is_chatter(row) ? NULL : "all";
}

/* What the goals are set for, and everything else. */
static const char *key_goal(const struct row *row)
{
    static const char *const goal[] = {"millimetres", "yesno", "choice"};
    if (is_chatter(row))
        return NULL;
    for (size_t g = 0; g < sizeof goal / sizeof goal[0]; g++)
        if (strcmp(row->class, goal[g]) == 0)
            return "mm, yes or no, choice";
    return "other answers";
}

static const char *key_class(const struct row *row)
{
    return is_chatter(row) ? NULL : row->class;
}

static const char *key_noise(const struct row *row)
{
    return is_chatter(row) ? NULL : row->noise;
}

static const char *key_voice(const struct row *row)
{
    return is_chatter(row) ? NULL : row->voice;
}

static const char *key_chatter(const struct row *row)
{
    return is_chatter(row) ? "chatter" : NULL;
}

void tally_open(struct tally_book *book)
{
    *book = (struct tally_book){
        .way = {{.by = "all", .key = key_all},
                {.by = "of these answers", .key = key_goal},
                {.by = "answer", .key = key_class},
                {.by = "noise", .key = key_noise},
                {.by = "voice", .key = key_voice}},
        .chatter = {.by = "chatter", .key = key_chatter},
    };
}

static void count(struct tally *tally, const struct row *row)
{
    bool accepted = strcmp(row->verdict, "accepted") == 0;
    bool unsure = strcmp(row->verdict, "unsure") == 0;
    tally->said++;
    tally->heard += row->right;
    if (accepted)
        *(row->right ? &tally->right : &tally->wrong) += 1;
    else if (unsure)
        *(row->right || row->other_right ? &tally->offered : &tally->asked) += 1;
    else
        tally->rejected++;
    if (row->stock_s <= 0)
        return;
    tally->stock_said++;
    tally->stock_right += row->stock_right;
    tally->stock_wrong += !row->stock_right && row->stock[0] != '\0';
}

static void take(struct tallies *way, const struct row *row)
{
    const char *key = way->key(row);
    size_t k = 0;
    if (key == NULL)
        return;
    while (k < way->keys && strcmp(way->name[k], key) != 0)
        k++;
    if (k == TALLY_KEYS)
        return;
    if (k == way->keys)
        snprintf(way->name[way->keys++], sizeof way->name[0], "%s", key);
    for (size_t l = 0; l < TALLY_LEVELS; l++)
        if (tally_levels[l] == row->snr_db)
            count(&way->at[k][l], row);
}

void tally_take(void *context, const struct row *row)
{
    struct tally_book *book = context;
    for (size_t w = 0; w < TALLY_WAYS; w++)
        take(&book->way[w], row);
    take(&book->chatter, row);
    book->costs.ear_s += row->ear_s;
    book->costs.sound_s += row->sound_s;
    book->costs.stock_s += row->stock_s;
    book->costs.stock_sound_s += row->stock_s > 0 ? row->sound_s : 0;
}
