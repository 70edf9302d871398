/*
 * A journal that means harm, or is damaged, in the data directory: every command that opens it
 * leaves in good order, soon and in bounded memory, with one line that says what to do; what is
 * refused is left as it was, byte for byte; nothing in it is run; no file elsewhere is touched.
 *     journal MIDTHROW
 * What is tried is from "Defense Against The Dark Arts" (sqlite.org/security.html), "How To Corrupt
 * An SQLite Database File" (sqlite.org/howtocorrupt.html) and the file format
 * (sqlite.org/fileformat2.html).
 */
#define _GNU_SOURCE
#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "../base/scratch.h"
#include "base/utf8.h"

enum {
    SECONDS = 20,          /* of this machine's, loaded and under a sanitizer */
    OUT = 64 << 20,        /* bytes read of what it says */
    KIB = 160 * 1024,      /* of memory at most; an ordinary journal takes 12 MiB */
    FILE_BYTES = 32 << 20, /* of a journal that is compared */
    DAMAGES = 40,
};
static const char fixture[] = FIXTURES "/journal-v1.sqlite";

static char midthrow[4096];
static char scratch[SCRATCH_PATH], data[SCRATCH_PATH], victim[SCRATCH_PATH];
static char database[SCRATCH_PATH], wal[SCRATCH_PATH], shm[SCRATCH_PATH], rollback[SCRATCH_PATH];
static const char *trying = "";
static int wrong;
static char *out, *before, *after;

static void fail(const char *what, const char *detail)
{
    printf("FAILED: %s: %s: %.600s\n", trying, what, detail);
    wrong++;
}

/* ---- a command ------------------------------------------------------------------------------ */

enum expected { REFUSED, BORNE }; /* exit code 1; or 0, or one for what it does not hold */

static const char *const LOOK[][6] = {
    {"jobs"},
    {"jobs", "--json"},
    {"show", "4"},
    {"show", "4", "--transcript"},
    {"report", "4", "--format", "html"},
    {"report", "4", "--format", "json"},
    {"report", "4", "--format", "vtt"},
    {"why", "4"},
    {"history", "X"},
    {"shop", "--json"},
    {"learn", "show"},
    {"export"},
    {"--resume", "1", "--typed"},
    {"--new", "--typed"},
};
enum { LOOKS = sizeof LOOK / sizeof LOOK[0] };

static size_t read_all(const char *path, char *bytes, size_t most)
{
    size_t n = 0;
    FILE *file = fopen(path, "rb");
    if (file != NULL) {
        n = fread(bytes, 1, most - 1, file);
        fclose(file);
    }
    bytes[n] = '\0';
    return n;
}

static void become(const char *const *words)
{
    char path[SCRATCH_PATH];
    const char *list[16] = {midthrow};
    int n = 1;
    for (int i = 0; i < 6 && words[i] != NULL; i++)
        list[n++] = words[i];
    list[n++] = "--data";
    list[n] = data;
    int in = open("/dev/null", O_RDONLY);
    int to = open(scratch_path(scratch, "out", path), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    int err = open(scratch_path(scratch, "err", path), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (dup2(in, 0) < 0 || dup2(to, 1) < 0 || dup2(err, 2) < 0)
        _exit(120);
    alarm(SECONDS); /* it stays through exec, and nothing in midthrow waits for it */
    execv(midthrow, (char *const *)(uintptr_t)list);
    _exit(121);
}

static bool has_control(const char *text, size_t n)
{
    uint32_t point;
    for (size_t i = 0, taken; i < n; i += taken) {
        taken = utf8_next(text + i, n - i, &point);
        if (taken == 0 || (utf8_is_control(point) && point != '\n'))
            return true;
    }
    return false;
}

static void run(const char *const *words, enum expected expected)
{
    char path[SCRATCH_PATH], what[256] = "";
    struct rusage usage;
    int status = 0;
    for (int i = 0; i < 6 && words[i] != NULL; i++)
        snprintf(what + strlen(what), sizeof what - strlen(what), "%s ", words[i]);
    pid_t child = fork();
    if (child == 0)
        become(words);
    if (child < 0 || wait4(child, &status, 0, &usage) != child) {
        fail(what, "cannot be run");
        return;
    }
    int code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    size_t n = read_all(scratch_path(scratch, "out", path), out, OUT);
    if (has_control(out, n))
        fail(what, "it prints what steers a terminal, or is no UTF-8");
    n = read_all(scratch_path(scratch, "err", path), out, OUT);
    if (has_control(out, n))
        fail(what, "it complains with what steers a terminal, or is no UTF-8");
    if (code > 3 || (expected == REFUSED && code != 1)) {
        char detail[1024];
        snprintf(detail, sizeof detail, "exit code %d, %.900s", code, out);
        fail(what, detail);
    }
    if (code != 0 && (n == 0 || strchr(out, '\n') != out + n - 1))
        fail(what, "it does not say one line");
    if (usage.ru_maxrss > KIB && getenv("ASAN_OPTIONS") == NULL) {
        char detail[32];
        snprintf(detail, sizeof detail, "%ld KiB", usage.ru_maxrss);
        fail(what, detail);
    }
}

/* ---- a journal ------------------------------------------------------------------------------ */

static void copy(const char *from, const char *to)
{
    size_t n = read_all(from, before, FILE_BYTES);
    FILE *file = fopen(to, "wb");
    if (file == NULL || fwrite(before, 1, n, file) != n || fclose(file) != 0)
        abort();
    chmod(to, 0600);
}

static void sql(const char *statements)
{
    sqlite3 *db;
    char *why = NULL;
    if (sqlite3_open(database, &db) != SQLITE_OK)
        abort();
    sqlite3_db_config(db, SQLITE_DBCONFIG_DEFENSIVE, 0, NULL);
    if (sqlite3_exec(db, statements, NULL, NULL, &why) != SQLITE_OK) {
        printf("%s: %s\n", trying, why);
        abort();
    }
    sqlite3_close(db); /* the log is gone with it */
}

/* Four jobs, of today's version. */
static void fresh(void)
{
    char path[SCRATCH_PATH];
    scratch_remove(data);
    mkdir(data, 0700);
    copy(scratch_path(scratch, "base.sqlite", path), database);
    scratch_text(scratch, "victim", "nobody may touch this\n");
}

static void victim_is_whole(void)
{
    char text[64];
    if (read_all(victim, text, sizeof text) != 22 || strcmp(text, "nobody may touch this\n") != 0)
        fail("a file elsewhere", "it was written or deleted");
}

static void look(enum expected expected)
{
    struct stat status;
    bool compare = expected == REFUSED && stat(database, &status) == 0 && S_ISREG(status.st_mode) &&
                   status.st_size < FILE_BYTES;
    size_t n = compare ? read_all(database, before, FILE_BYTES) : 0;
    /* what is refused is refused in one place: a third of the commands each time will do */
    static size_t turn;
    size_t step = expected == REFUSED ? 3 : 1;
    for (size_t i = expected == REFUSED ? turn++ % step : 0; i < LOOKS; i += step)
        run(LOOK[i], expected);
    if (compare && (read_all(database, after, FILE_BYTES) != n || memcmp(before, after, n) != 0))
        fail("the journal", "it was refused, but is not as it was");
    victim_is_whole();
}

/* ---- by SQL -----------------------------------------------------------------------------------
 */

static const struct attack {
    const char *what, *sql;
    enum expected expected;
} ATTACKS[] = {
    {"nothing", "SELECT 1", BORNE}, /* or the others could fail for another reason */
    {"a trigger", "CREATE TRIGGER t AFTER INSERT ON events BEGIN DELETE FROM jobs; END", REFUSED},
    {"a view", "CREATE VIEW v AS SELECT * FROM jobs", REFUSED},
    {"a view in a table's place",
     "ALTER TABLE riders RENAME TO r; CREATE VIEW riders AS WITH RECURSIVE n(i) AS (SELECT 1 UNION"
     " ALL SELECT i + 1 FROM n) SELECT i AS job, hex(randomblob(1000)) AS name FROM n",
     REFUSED},
    {"a view in the place of all jobs",
     "PRAGMA foreign_keys = OFF; DROP TABLE jobs; CREATE VIEW jobs AS WITH RECURSIVE n(i) AS"
     " (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS number FROM n",
     REFUSED},
    {"a generated column",
     "ALTER TABLE jobs ADD COLUMN g TEXT AS (hex(zeroblob(100000000))) VIRTUAL", REFUSED},
    {"an index that computes", "CREATE INDEX e ON jobs (hex(zeroblob(length(id) * 100)))", REFUSED},
    {"a constraint that computes",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, 'ending TEXT',"
     " 'ending TEXT CHECK (length(hex(zeroblob(1000000))) > 0)') WHERE name = 'jobs'",
     REFUSED},
    {"a default that computes",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql,"
     " 'bike TEXT NOT NULL DEFAULT ''''', 'bike TEXT NOT NULL DEFAULT (load_extension(''x''))')"
     " WHERE name = 'jobs'",
     REFUSED},
    {"another table", "CREATE TABLE x (y)", REFUSED},
    {"statistics", "ANALYZE", REFUSED},
    {"a table without its columns",
     "PRAGMA foreign_keys = OFF; DROP TABLE jobs; CREATE TABLE jobs (number INTEGER PRIMARY KEY)",
     REFUSED},
    {"a missing index", "DROP INDEX jobs_by_id", REFUSED},
    {"tables of no type",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, ' STRICT', '')",
     REFUSED},
    {"a schema that is none",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = 'CREATE TABLE jobs ((('"
     " WHERE name = 'jobs'",
     REFUSED},
    {"two tables of one name and place",
     "PRAGMA writable_schema = ON; INSERT INTO sqlite_schema SELECT * FROM sqlite_schema", REFUSED},
    {"ten thousand tables",
     "PRAGMA writable_schema = ON; WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n"
     " WHERE i < 10000) INSERT INTO sqlite_schema SELECT 'table', 't' || i, 't' || i, 2,"
     " 'CREATE TABLE t' || i || ' (x)' FROM n",
     REFUSED},
    {"another program's", "PRAGMA application_id = 1", REFUSED},
    {"a version to come", "PRAGMA user_version = 2147483647", REFUSED},
    {"a version below none", "PRAGMA user_version = -1", REFUSED},
    {"a version that was", "PRAGMA user_version = 1", REFUSED},
    {"a wish for a large cache", "PRAGMA default_cache_size = 2000000000", BORNE},

    {"zero bytes in text",
     "UPDATE jobs SET work_order = 'a' || char(0) || 'b', bike = char(0), question = char(0);"
     "UPDATE events SET body = body || char(0) || '<script>' WHERE seq > 2",
     BORNE},
    {"steering in text",
     "UPDATE jobs SET work_order = char(27) || ']0;x' || char(7), bike = char(155) || '2J',"
     " question = char(8238) || 'x', ending = char(10) || char(13), cause = char(133);"
     "INSERT INTO riders SELECT number, char(27) || '[2J' || char(8232) FROM jobs",
     BORNE},
    {"text that is no UTF-8",
     "UPDATE jobs SET work_order = CAST(x'FFFE' AS TEXT), bike = CAST(x'C0AF' AS TEXT),"
     " profile = CAST(x'EDA080' AS TEXT), ending = CAST(x'F4908080' AS TEXT), cause ="
     " CAST(x'80' AS TEXT); INSERT INTO riders SELECT number, CAST(x'C3' AS TEXT) FROM jobs",
     BORNE},
    {"ids that end a string", "UPDATE jobs SET id = '\",\"x\":\"' || number, twin_of = '\"}'",
     BORNE},
    {"huge text", "UPDATE jobs SET bike = hex(zeroblob(450000)), question = hex(zeroblob(90000))",
     BORNE},
    {"events of a megabyte", "UPDATE events SET body = hex(zeroblob(500000)) WHERE seq = 3", BORNE},
    {"events of ten megabytes", "UPDATE events SET body = hex(zeroblob(5000000)) WHERE seq = 3",
     BORNE},
    {"huge numbers",
     "UPDATE jobs SET opened_ms = 9223372036854775807, last_ms = 9223372036854775807, events ="
     " 9223372036854775807, odometer = 9223372036854775807, active_ms = 9223372036854775807,"
     " heard = 9223372036854775807, unsure = 9223372036854775807, rejected ="
     " 9223372036854775807, learns = 9223372036854775807, found_mm = 9e999, left_mm = -9e999",
     BORNE},
    {"numbers far below none",
     "UPDATE jobs SET opened_ms = -9223372036854775808, last_ms = -9223372036854775808, closed_ms ="
     " -9223372036854775808, events = -9223372036854775808, odometer = -9223372036854775808,"
     " active_ms = -9223372036854775808, heard = -9223372036854775808, unsure ="
     " -9223372036854775808, learns = -9223372036854775808",
     BORNE},
    {"events out of order", "UPDATE events SET seq = -seq", BORNE},
    {"events far apart", "UPDATE events SET seq = 9223372036854775807 WHERE seq = 3", BORNE},
    {"events of nobody's job",
     "PRAGMA foreign_keys = OFF; INSERT INTO events SELECT job + 1000000, seq, at_ms, body FROM"
     " events",
     BORNE},
    {"jobs below none", "PRAGMA foreign_keys = OFF; UPDATE jobs SET number = -number", BORNE},
    {"values of the wrong types",
     "CREATE TEMP TABLE was AS SELECT name, sql FROM sqlite_schema; PRAGMA writable_schema = ON;"
     "UPDATE sqlite_schema SET sql = replace(sql, ' STRICT, WITHOUT', ' WITHOUT');"
     "UPDATE sqlite_schema SET sql = replace(sql, ' STRICT', '');"
     "UPDATE sqlite_schema SET sql = replace(sql, ' NOT NULL', '') WHERE name = 'jobs';"
     "PRAGMA writable_schema = RESET; UPDATE jobs SET events = 'many', opened_ms = x'00',"
     " heard = 1e300, bike = x'FF00FF', closed_ms = 'never', profile = NULL, learns = 'x';"
     "UPDATE events SET body = x'7B7D00' WHERE seq = 2; PRAGMA writable_schema = ON;"
     "UPDATE sqlite_master SET sql = (SELECT was.sql FROM was WHERE was.name = sqlite_master.name) "
     "WHERE name IN (SELECT name FROM was)",
     BORNE},
    {"a long job",
     "WITH RECURSIVE n(i) AS (SELECT 1000 UNION ALL SELECT i + 1 FROM n WHERE i < 150000)"
     " INSERT INTO events SELECT 4, i, 1, '{\"kind\":\"reminded\",\"at_ms\":1,\"source\":"
     "\"station\"}' FROM n; UPDATE events SET seq = seq - 1000 + (SELECT count(*) FROM events WHERE"
     " job = 4 AND seq < 1000) + 1 WHERE job = 4 AND seq >= 1000",
     BORNE},
    {"many jobs",
     "WITH RECURSIVE n(i) AS (SELECT 10 UNION ALL SELECT i + 1 FROM n WHERE i < 100000) INSERT INTO"
     " jobs (number, opened_ms, last_ms, id, events) SELECT i, i, i, printf('%032x', i), 0 FROM n",
     BORNE},
};

static void by_sql(void)
{
    for (size_t i = 0; i < sizeof ATTACKS / sizeof ATTACKS[0]; i++) {
        trying = ATTACKS[i].what;
        fresh();
        sql(ATTACKS[i].sql);
        look(ATTACKS[i].expected);
    }
}

/* SQLite would say that the disk is full. */
static void no_number_left(void)
{
    static const char *const begin[6] = {"--new", "--typed"};
    char path[SCRATCH_PATH];
    trying = "no number left";
    fresh();
    sql("UPDATE sqlite_sequence SET seq = 9223372036854775807");
    run(begin, REFUSED);
    read_all(scratch_path(scratch, "err", path), out, OUT);
    if (strstr(out, "number") == NULL)
        fail("--new", out);
    look(BORNE);
}

/* ---- in the file's place ----------------------------------------------------------------------
 */

static void put_rubbish(const char *path, size_t n, bool zeros)
{
    uint64_t seed = 3;
    FILE *file = fopen(path, "wb");
    for (size_t i = 0; i < n; i++)
        putc(zeros ? 0 : (int)(seeded(&seed) & 255), file);
    fclose(file);
}

static void in_its_place(void)
{
    static const char *const sizes[] = {"a file of zeros", "a file of rubbish"};
    trying = "a folder";
    fresh();
    remove(database);
    mkdir(database, 0700);
    look(REFUSED);
    rmdir(database);
    trying = "a pipe";
    mkfifo(database, 0600);
    look(REFUSED);
    remove(database);
    trying = "a link elsewhere";
    if (symlink(victim, database) != 0)
        abort();
    look(REFUSED);
    remove(database);
    trying = "a link to what never ends";
    if (symlink("/dev/zero", database) != 0)
        abort();
    look(REFUSED);
    for (int i = 0; i < 2; i++) {
        trying = sizes[i];
        fresh();
        put_rubbish(database, 100000, i == 0);
        look(REFUSED);
    }
    trying = "six gigabytes behind it";
    fresh();
    if (truncate(database, (off_t)6 << 30) != 0)
        abort();
    look(BORNE);
}

/* ---- beside the file --------------------------------------------------------------------------
 */

static void beside_it(void)
{
    const char *const path[] = {wal, shm, rollback};
    for (int i = 0; i < 3; i++) {
        char what[64];
        const char *end = strrchr(path[i], '-');
        trying = what;
        fresh();
        snprintf(what, sizeof what, "a pipe as %s", end);
        mkfifo(path[i], 0600);
        look(REFUSED);
        remove(path[i]);
        snprintf(what, sizeof what, "a folder as %s", end);
        mkdir(path[i], 0700);
        look(REFUSED);
        rmdir(path[i]);
        snprintf(what, sizeof what, "a link as %s", end);
        if (symlink(victim, path[i]) != 0)
            abort();
        look(REFUSED);
        remove(path[i]);
        snprintf(what, sizeof what, "six gigabytes as %s", end);
        put_rubbish(path[i], 8, false);
        if (truncate(path[i], (off_t)6 << 30) != 0)
            abort();
        look(path[i] == rollback ? REFUSED : BORNE);
        fresh();
        snprintf(what, sizeof what, "rubbish as %s", end);
        put_rubbish(path[i], 60000, false);
        look(path[i] == rollback ? REFUSED : BORNE);
    }
    trying = "";
}

static void big_endian(unsigned char *to, uint32_t value)
{
    for (int i = 0; i < 4; i++)
        to[i] = (unsigned char)(value >> (24 - 8 * i));
}

/* A rollback journal as SQLite leaves it when it is cut off, of no pages, that names the victim as
 * the super-journal to be deleted when all is undone (fileformat2.html, section 3). */
static void put_rollback(const char *victim_name)
{
    static const unsigned char magic[] = {0xD9, 0xD5, 0x05, 0xF9, 0x20, 0xA1, 0x63, 0xD7};
    unsigned char bytes[512 + 4 + SCRATCH_PATH + 16] = {0};
    size_t length = strlen(victim_name);
    uint32_t sum = 0;
    struct stat status;
    stat(database, &status);
    memcpy(bytes, magic, sizeof magic);
    big_endian(bytes + 16, (uint32_t)(status.st_size / 4096));
    big_endian(bytes + 20, 512);
    big_endian(bytes + 24, 4096);
    unsigned char *tail = bytes + 512;
    big_endian(tail, (uint32_t)(0x40000000 / 4096) + 1);
    memcpy(tail + 4, victim_name, length);
    for (size_t i = 0; i < length; i++)
        sum += (unsigned char)victim_name[i]; /* the name is ASCII */
    big_endian(tail + 4 + length, (uint32_t)length);
    big_endian(tail + 8 + length, sum);
    memcpy(tail + 12 + length, magic, sizeof magic);
    FILE *file = fopen(rollback, "wb");
    fwrite(bytes, 1, 512 + 20 + length, file);
    fclose(file);
}

static void a_journal_that_deletes(void)
{
    trying = "a journal that deletes";
    for (int emptied = 0; emptied < 2; emptied++) {
        fresh();
        if (emptied == 1 && truncate(database, 4096) != 0)
            abort();
        put_rollback(victim);
        look(REFUSED);
    }
    /* SQLite by itself does what it is told, or the test could not fail */
    fresh();
    put_rollback(victim);
    sql("SELECT * FROM jobs");
    if (access(victim, F_OK) == 0)
        fail("the test", "its journal deletes nothing");
}

/* ---- the log of another -----------------------------------------------------------------------
 */

/* A log with `statements` in it, as a power cut leaves it, in base.wal. */
static void make_log(const char *statements)
{
    char path[SCRATCH_PATH];
    sqlite3 *db;
    fresh();
    if (sqlite3_open(database, &db) != SQLITE_OK ||
        sqlite3_exec(db, statements, NULL, NULL, NULL) != SQLITE_OK)
        abort();
    copy(wal, scratch_path(scratch, "base.wal", path));
    sqlite3_close(db);
}

static void the_log_of_another(void)
{
    char path[SCRATCH_PATH];
    trying = "the log of another";
    make_log("UPDATE jobs SET question = 'x', id = id || 'x'");
    fresh();
    sql("WITH RECURSIVE n(i) AS (SELECT 10 UNION ALL SELECT i + 1 FROM n WHERE i < 300) INSERT INTO"
        " jobs (number, opened_ms, last_ms, id) SELECT i, i, i, printf('%032x', i) FROM n;"
        "DELETE FROM jobs WHERE number % 2 = 1 AND number > 9");
    copy(scratch_path(scratch, "base.wal", path), wal);
    look(REFUSED);
    struct stat status;
    if (stat(wal, &status) != 0 || status.st_size == 0)
        fail("the log", "it is gone, and with it what it held");
}

/* ---- damage -----------------------------------------------------------------------------------
 */

static void damage(void)
{
    uint64_t seed = 11;
    char what[64];
    trying = what;
    struct stat status;
    fresh();
    stat(database, &status);
    for (size_t i = 0; i < DAMAGES; i++) {
        bool cut = i % 4 == 3;
        off_t at = (off_t)seeded_below(&seed, (size_t)status.st_size);
        if (i % 4 == 2)
            at = (off_t)(seeded_below(&seed, (size_t)status.st_size / 4096) * 4096 +
                         seeded_below(&seed, 100)); /* where a page tells of itself */
        snprintf(what, sizeof what, "%s at %lld", cut ? "cut off" : "damaged", (long long)at);
        fresh();
        if (cut && truncate(database, at) != 0)
            abort();
        int file = open(database, O_WRONLY);
        for (off_t j = 0; !cut && j < 1 + (off_t)(i % 3) * 20; j++) {
            unsigned char byte = (unsigned char)seeded(&seed);
            if (pwrite(file, &byte, 1, at + j) != 1)
                abort();
        }
        close(file);
        for (size_t j = i % 3; j < LOOKS; j += 3)
            run(LOOK[j], BORNE);
        victim_is_whole();
    }
}

int main(int argc, char **argv)
{
    static const char *const list[6] = {"jobs"};
    char path[SCRATCH_PATH];
    if (argc != 2 || realpath(argv[1], midthrow) == NULL)
        return 2;
    out = malloc(OUT);
    before = malloc(FILE_BYTES);
    after = malloc(FILE_BYTES);
    scratch_make(scratch);
    scratch_path(scratch, "data", data);
    scratch_path(scratch, "victim", victim);
    scratch_path(data, "journal.sqlite", database);
    scratch_path(data, "journal.sqlite-wal", wal);
    scratch_path(data, "journal.sqlite-shm", shm);
    scratch_path(data, "journal.sqlite-journal", rollback);
    mkdir(data, 0700);
    copy(fixture, database);
    run(list, BORNE); /* brings it up to today's version */
    copy(database, scratch_path(scratch, "base.sqlite", path));
    by_sql();
    no_number_left();
    in_its_place();
    beside_it();
    a_journal_that_deletes();
    the_log_of_another();
    damage();
    scratch_remove(scratch);
    free(out);
    free(before);
    free(after);
    puts(wrong == 0 ? "all borne or refused in good order" : "");
    return wrong == 0 ? 0 : 1;
}
