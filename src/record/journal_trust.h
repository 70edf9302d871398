/*
 * May a journal's file be believed? It lies in a folder where others may have put one: made by
 * hand to do harm, damaged, or beside the log of another. Published: "Defense Against The Dark
 * Arts", sqlite.org/security.html; what goes wrong with files that were copied one without the
 * other: sqlite.org/howtocorrupt.html.
 *
 * In the order of opening: the files before SQLite sees them; the connection before it reads; the
 * tables before a statement touches them (journal_same_tables in journal_schema.c); the pages. Each
 * false comes with a sentence, and nothing was changed or deleted until then.
 */
#ifndef MIDTHROW_RECORD_JOURNAL_TRUST_H
#define MIDTHROW_RECORD_JOURNAL_TRUST_H

#include "record/journal_inside.h"

/* The files that SQLite opens beside the journal by itself are plain ones or not there, and none of
 * them would have it undo or delete anything. `log`: there is a log with something in it. */
bool journal_trust_files(const struct journal *journal, bool *log, struct fault *fault);

/* Nothing in the file is run, and nothing in it may be larger than midthrow writes. The log is not
 * brought into the database when the connection closes, until journal_trusted. */
void journal_distrust(sqlite3 *db);
void journal_trusted(sqlite3 *db);

/* Do the pages hang together? Asked when a log was found: after a power cut, or it is another
 * journal's. */
bool journal_trust_pages(struct journal *journal, struct fault *fault);

#endif
