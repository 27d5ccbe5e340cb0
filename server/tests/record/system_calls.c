/* Loaded before the C library into a process of the test: what is written below one folder can be
 * made to fail, and the process killed before any one call.
 *
 *   LOFTWRIGHT_TEST_FOLDER    the folder; calls on other files go through
 *   LOFTWRIGHT_TEST_KILL_AT   SIGKILL before the call of this number, counted from 1
 *   FOLDER.full               while there is this file, nothing can be written: ENOSPC
 *   FOLDER.failing            while there is this file, nothing can be flushed: EIO
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <limits.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static int below(const char *path) {
    const char *folder = getenv("LOFTWRIGHT_TEST_FOLDER");
    return folder && path && strncmp(path, folder, strlen(folder)) == 0
        && path[strlen(folder)] == '/';
}

static int of_folder(int file) {
    char link[64], path[PATH_MAX];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    const char *folder = getenv("LOFTWRIGHT_TEST_FOLDER");
    return below(path) || (folder && strcmp(path, folder) == 0);
}

static int has(const char *ending) {
    char path[PATH_MAX];
    const char *folder = getenv("LOFTWRIGHT_TEST_FOLDER");
    if (!folder) return 0;
    snprintf(path, sizeof path, "%s.%s", folder, ending);
    return access(path, F_OK) == 0;
}

static void count(void) {
    static atomic_long calls;
    const char *at = getenv("LOFTWRIGHT_TEST_KILL_AT");
    if (at && atomic_fetch_add(&calls, 1) + 1 == atol(at)) kill(getpid(), SIGKILL);
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

#define WRITING(name, parameters, arguments)                              \
    ssize_t name parameters {                                             \
        if (of_folder(file)) {                                            \
            count();                                                      \
            if (has("full")) { errno = ENOSPC; return -1; }               \
        }                                                                 \
        return REAL(name) arguments;                                      \
    }

WRITING(write, (int file, const void *from, size_t length), (file, from, length))
WRITING(pwrite, (int file, const void *from, size_t length, off_t at), (file, from, length, at))
WRITING(pwrite64, (int file, const void *from, size_t length, off64_t at), (file, from, length, at))

#define FLUSHING(name)                                                    \
    int name(int file) {                                                  \
        if (of_folder(file)) {                                            \
            count();                                                      \
            if (has("failing")) { errno = EIO; return -1; }               \
        }                                                                 \
        return REAL(name)(file);                                          \
    }

FLUSHING(fsync)
FLUSHING(fdatasync)

#define CUTTING(name, type)                                               \
    int name(int file, type length) {                                     \
        if (of_folder(file)) count();                                     \
        return REAL(name)(file, length);                                  \
    }

CUTTING(ftruncate, off_t)
CUTTING(ftruncate64, off64_t)

int rename(const char *from, const char *to) {
    if (below(from)) count();
    return REAL(rename)(from, to);
}

int unlink(const char *path) {
    if (below(path)) count();
    return REAL(unlink)(path);
}
