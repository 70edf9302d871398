/* How large a grammar becomes: see grammar_size.h. */
#include "speech/grammar_size.h"

static uint64_t bounded(uint64_t n)
{
    return n < GRAMMAR_SIZE_MOST ? n : GRAMMAR_SIZE_MOST;
}

struct grammar_way grammar_way(void)
{
    return (struct grammar_way){.tail = 1, .empty = true};
}

void grammar_way_word(struct grammar_way *way)
{
    way->words = bounded(way->words + 1);
    way->tail = 1;
    way->empty = false;
}

void grammar_way_nothing(struct grammar_way *way)
{
    way->jumps = bounded(way->jumps + way->tail);
    way->into = bounded(way->into + way->empty);
    way->tail = bounded(way->tail + 1);
}

void grammar_way_part(struct grammar_way *way, const struct grammar_size *part)
{
    way->words = bounded(way->words + part->words);
    way->jumps = bounded(way->jumps + part->jumps + way->tail * (1 + part->into));
    way->into = bounded(way->into + (way->empty ? 1 + part->into : 0));
    way->tail = bounded(1 + part->out + (part->empty ? way->tail : 0));
    way->empty = way->empty && part->empty;
}

void grammar_size_add(struct grammar_size *size, const struct grammar_way *way)
{
    size->words = bounded(size->words + way->words);
    size->jumps = bounded(size->jumps + way->jumps + way->tail);
    size->into = bounded(size->into + way->into + (way->empty && !size->empty));
    size->out = bounded(size->out + way->tail);
    size->empty = size->empty || way->empty;
}
