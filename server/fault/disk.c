/*
 * A disk that remembers and fails, for tests: preloaded into the server (LD_PRELOAD), it writes a
 * journal of what SQLite asks of the files in one folder, and makes one call fail when it is told to.
 * From the journal a test works out what a power cut could have left.
 *
 * Environment: FAULT_FOLDER, the folder; FAULT_JOURNAL, the file that gets the journal, appended to;
 * FAULT_CONTROL, a file of a struct control that the test writes while the server runs. The
 * program's own calls that do not go through the C library are not seen.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

enum call { CALL_OPEN = 1, CALL_WRITE, CALL_TRUNCATE, CALL_SYNC, CALL_UNLINK, CALL_READ };

/* The call numbered countdown from now fails with error; ENDS ends the process there, and
 * LOSES a sync that fails, and then the process. */
enum { ENDS = -1, LOSES = -2 };
struct control {
	int32_t call, countdown, error, stays, hits;
};

/* One line of the journal; path and data follow. A sync that failed has the offset 1. */
struct line {
	uint32_t call, path_length;
	uint64_t offset, length;
};

#define FILES 4096
static char *paths[FILES]; /* by descriptor; NULL for what lies elsewhere */
static struct control *control;
static const char *folder;
static int journal = -1;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

static int (*real_open)(const char *, int, ...);
static int (*real_close)(int);
static ssize_t (*real_write)(int, const void *, size_t);
static ssize_t (*real_pwrite)(int, const void *, size_t, off_t);
static ssize_t (*real_pread)(int, void *, size_t, off_t);
static int (*real_truncate)(int, off_t);
static int (*real_sync)(int);
static int (*real_unlink)(const char *);

__attribute__((constructor)) static void start(void)
{
	real_open = dlsym(RTLD_NEXT, "open64");
	real_close = dlsym(RTLD_NEXT, "close");
	real_write = dlsym(RTLD_NEXT, "write");
	real_pwrite = dlsym(RTLD_NEXT, "pwrite64");
	real_pread = dlsym(RTLD_NEXT, "pread64");
	real_truncate = dlsym(RTLD_NEXT, "ftruncate64");
	real_sync = dlsym(RTLD_NEXT, "fsync");
	real_unlink = dlsym(RTLD_NEXT, "unlink");
	folder = getenv("FAULT_FOLDER");
	const char *name = getenv("FAULT_JOURNAL");
	if (name)
		journal = real_open(name, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
	name = getenv("FAULT_CONTROL");
	int fd = name ? real_open(name, O_RDWR | O_CLOEXEC) : -1;
	if (fd >= 0) {
		control = mmap(NULL, sizeof *control, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
		real_close(fd);
		if (control == MAP_FAILED)
			abort();
	}
}

static int is_inside(const char *path)
{
	size_t n = folder ? strlen(folder) : 0;
	return n > 0 && !strncmp(path, folder, n) && (path[n] == '/' || !path[n]);
}

static const char *path_of(int fd)
{
	return fd >= 0 && fd < FILES ? paths[fd] : NULL;
}

/* Returns whether this call must fail, and sets errno. The lock is held. */
static int fails(enum call call)
{
	if (!control || control->call != (int32_t)call || control->countdown <= 0)
		return 0;
	if (--control->countdown > 0)
		return 0;
	control->hits++;
	if (control->stays)
		control->countdown = 1;
	if (control->error == ENDS)
		_exit(137);
	errno = control->error < 0 ? EIO : control->error;
	return 1;
}

static void put(const void *data, size_t n)
{
	if (n > 0 && real_write(journal, data, n) != (ssize_t)n)
		abort(); /* a journal with a hole would prove nothing */
}

/* Adds a line. The lock is held, so that lines stand in the order of what they tell of. */
static void note(enum call call, const char *path, uint64_t offset, const void *data, uint64_t length)
{
	if (journal < 0)
		return;
	struct line line = {call, strlen(path), offset, length};
	put(&line, sizeof line);
	put(path, line.path_length);
	if (call == CALL_WRITE)
		put(data, length);
}

static int opened(const char *path, int flags, mode_t mode)
{
	char whole[PATH_MAX];
	if (!is_inside(path) || strlen(path) >= sizeof whole)
		return real_open(path, flags, mode);
	pthread_mutex_lock(&lock);
	int fd = fails(CALL_OPEN) ? -1 : real_open(path, flags, mode);
	if (fd >= 0 && fd < FILES) {
		paths[fd] = strdup(path);
		note(CALL_OPEN, path, 0, NULL, 0);
	}
	pthread_mutex_unlock(&lock);
	return fd;
}

#define MODE(flags)                          \
	mode_t mode = 0;                     \
	if ((flags) & (O_CREAT | O_TMPFILE)) { \
		va_list rest;                \
		va_start(rest, flags);       \
		mode = va_arg(rest, mode_t); \
		va_end(rest);                \
	}

int open(const char *path, int flags, ...)
{
	MODE(flags)
	return opened(path, flags, mode);
}

int open64(const char *path, int flags, ...)
{
	MODE(flags)
	return opened(path, flags, mode);
}

int close(int fd)
{
	pthread_mutex_lock(&lock);
	if (path_of(fd)) {
		free(paths[fd]);
		paths[fd] = NULL;
	}
	pthread_mutex_unlock(&lock);
	return real_close(fd);
}

ssize_t pwrite64(int fd, const void *data, size_t n, off_t offset)
{
	if (!path_of(fd))
		return real_pwrite(fd, data, n, offset);
	pthread_mutex_lock(&lock);
	ssize_t done = fails(CALL_WRITE) ? -1 : real_pwrite(fd, data, n, offset);
	if (done > 0)
		note(CALL_WRITE, paths[fd], offset, data, done);
	pthread_mutex_unlock(&lock);
	return done;
}

ssize_t pwrite(int fd, const void *data, size_t n, off_t offset)
{
	return pwrite64(fd, data, n, offset);
}

ssize_t write(int fd, const void *data, size_t n)
{
	if (!path_of(fd))
		return real_write(fd, data, n);
	off_t at = lseek(fd, 0, SEEK_CUR);
	ssize_t done = pwrite64(fd, data, n, at);
	if (done > 0)
		lseek(fd, at + done, SEEK_SET);
	return done;
}

ssize_t pread64(int fd, void *data, size_t n, off_t offset)
{
	if (!path_of(fd))
		return real_pread(fd, data, n, offset);
	pthread_mutex_lock(&lock);
	int is_bad = fails(CALL_READ);
	pthread_mutex_unlock(&lock);
	return is_bad ? -1 : real_pread(fd, data, n, offset);
}

ssize_t pread(int fd, void *data, size_t n, off_t offset)
{
	return pread64(fd, data, n, offset);
}

int ftruncate64(int fd, off_t length)
{
	if (!path_of(fd))
		return real_truncate(fd, length);
	pthread_mutex_lock(&lock);
	int result = fails(CALL_TRUNCATE) ? -1 : real_truncate(fd, length);
	if (!result)
		note(CALL_TRUNCATE, paths[fd], length, NULL, 0);
	pthread_mutex_unlock(&lock);
	return result;
}

int ftruncate(int fd, off_t length)
{
	return ftruncate64(fd, length);
}

int fsync(int fd)
{
	if (!path_of(fd))
		return real_sync(fd);
	pthread_mutex_lock(&lock);
	int is_bad = fails(CALL_SYNC);
	int result = is_bad ? -1 : real_sync(fd);
	note(CALL_SYNC, paths[fd], result ? 1 : 0, NULL, 0);
	if (is_bad && control->error == LOSES)
		_exit(137);
	pthread_mutex_unlock(&lock);
	return result;
}

int fdatasync(int fd)
{
	return fsync(fd);
}

int unlink(const char *path)
{
	if (!is_inside(path))
		return real_unlink(path);
	pthread_mutex_lock(&lock);
	int result = fails(CALL_UNLINK) ? -1 : real_unlink(path);
	if (!result)
		note(CALL_UNLINK, path, 0, NULL, 0);
	pthread_mutex_unlock(&lock);
	return result;
}
