/* A disk and a memory that fail at the n-th call. Loaded before the C library (LD_PRELOAD).

Counted are the calls that change or read files under one folder, and, once memory_watch has been
called, every allocation of SQLite's. A write that fails leaves half of its bytes behind. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static char folder[4096];
static atomic_long seen, fails_at, failed;
static int with_errno, lasts, memory;

static void begin(long at, int for_good) {
    lasts = for_good;
    seen = failed = 0;
    fails_at = at;
}

void disk_breaks(const char *where, long at, int number, int for_good) {
    strncpy(folder, where, sizeof folder - 1);
    with_errno = number;
    begin(at, for_good);
}

void memory_ends(long at, int for_good) {
    begin(at, for_good);
    memory = 1;
}

/* How many calls failed; from here on none does. */
long mended(void) {
    folder[0] = 0;
    memory = 0;
    return failed;
}

static int now(void) {
    long count = ++seen;
    int fails = lasts ? count >= fails_at : count == fails_at;
    failed += fails;
    return fails;
}

static int breaks_at_path(const char *path) {
    size_t length = strlen(folder);
    if (!length || strncmp(path, folder, length) || !now()) return 0;
    errno = with_errno;
    return 1;
}

static int breaks_at(int file) {
    char name[64], path[4096];
    if (!folder[0]) return 0;
    snprintf(name, sizeof name, "/proc/self/fd/%d", file);
    ssize_t length = readlink(name, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return breaks_at_path(path);
}

#define NEXT(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

#define OPEN(name)                                                                                 \
    int name(const char *path, int flags, ...) {                                                   \
        va_list more;                                                                              \
        va_start(more, flags);                                                                     \
        mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;                                  \
        va_end(more);                                                                              \
        return breaks_at_path(path) ? -1 : NEXT(name)(path, flags, mode);                          \
    }
OPEN(open)
OPEN(open64)

ssize_t write(int file, const void *bytes, size_t count) {
    if (!breaks_at(file)) return NEXT(write)(file, bytes, count);
    NEXT(write)(file, bytes, count / 2);
    errno = with_errno;
    return -1;
}

#define PWRITE(name, offset)                                                                       \
    ssize_t name(int file, const void *bytes, size_t count, offset at) {                           \
        if (!breaks_at(file)) return NEXT(name)(file, bytes, count, at);                           \
        NEXT(name)(file, bytes, count / 2, at);                                                    \
        errno = with_errno;                                                                        \
        return -1;                                                                                 \
    }
PWRITE(pwrite, off_t)
PWRITE(pwrite64, off64_t)

#define ON_FILE(name, result, given, passed)                                                       \
    result name given { return breaks_at(file) ? -1 : NEXT(name) passed; }
ON_FILE(read, ssize_t, (int file, void *bytes, size_t count), (file, bytes, count))
ON_FILE(pread, ssize_t, (int file, void *b, size_t n, off_t at), (file, b, n, at))
ON_FILE(pread64, ssize_t, (int file, void *b, size_t n, off64_t at), (file, b, n, at))
ON_FILE(fsync, int, (int file), (file))
ON_FILE(fdatasync, int, (int file), (file))
ON_FILE(ftruncate, int, (int file, off_t size), (file, size))
ON_FILE(ftruncate64, int, (int file, off64_t size), (file, size))

#define AT_PATH(name, given, passed)                                                               \
    int name given { return breaks_at_path(path) ? -1 : NEXT(name) passed; }
AT_PATH(unlink, (const char *path), (path))
AT_PATH(rename, (const char *path, const char *to), (path, to))
AT_PATH(link, (const char *path, const char *to), (path, to))
AT_PATH(mkdir, (const char *path, mode_t mode), (path, mode))

/* SQLite's table of memory methods, as sqlite3_config(SQLITE_CONFIG_MALLOC) takes it. */
struct methods {
    void *(*take)(int);
    void (*give)(void *);
    void *(*again)(void *, int);
    int (*size)(void *), (*round)(int), (*init)(void *);
    void (*shutdown)(void *);
    void *data;
};
static struct methods theirs, ours;

static void *take(int size) { return memory && now() ? NULL : theirs.take(size); }
static void *again(void *old, int size) {
    return memory && now() ? NULL : theirs.again(old, size);
}

/* Count SQLite's allocations: `config`, `shutdown` and `initialize` are its own. 0 when it may. */
int memory_watch(int (*config)(int, ...), int (*shutdown)(void), int (*initialize)(void)) {
    enum { MALLOC = 4, GETMALLOC = 5 };
    if (shutdown() || config(GETMALLOC, &theirs)) return 1;
    ours = theirs;
    ours.take = take;
    ours.again = again;
    return config(MALLOC, &ours) || initialize();
}
