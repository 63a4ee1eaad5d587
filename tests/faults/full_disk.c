/* Fails with ENOSPC as full_disk.py asks: from the n-th call on that writes in one place. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>
static char place[4096]; static long first = 0, only = 0, calls = 0;
long full_disk(const char *where, long from, long one) {
  strncpy(place, where, sizeof place - 1); first = from; only = one; calls = 0; return 0; }
long full_disk_calls(void) { return calls; }
static int in_place(const char *path) {
  char cwd[4096];
  if (!first || !path) return 0;
  if (path[0] == '/') return !strncmp(path, place, strlen(place));
  return getcwd(cwd, sizeof cwd) && !strncmp(cwd, place, strlen(place)); }
static int fails(void) {
  calls++;
  if (only ? calls == first : calls >= first) { errno = ENOSPC; return 1; }
  return 0; }
static int fd_fails(int fd) {
  char link[64], path[4096]; int saved = errno;
  if (!first || fd <= 2) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t size = readlink(link, path, sizeof path - 1); errno = saved;
  if (size < 0) return 0;
  path[size] = 0;
  return path[0] == '/' && in_place(path) && fails(); }
#define REAL(name, type) static type real; if (!real) real = (type)dlsym(RTLD_NEXT, name)
typedef ssize_t (*w_t)(int, const void *, size_t); typedef ssize_t (*p_t)(int, const void *, size_t, off_t);
typedef int (*f_t)(int); typedef int (*r_t)(const char *, const char *); typedef int (*m_t)(const char *, mode_t);
typedef int (*o_t)(const char *, int, ...);
ssize_t write(int fd, const void *b, size_t n) { REAL("write", w_t); return fd_fails(fd) ? -1 : real(fd, b, n); }
ssize_t pwrite(int fd, const void *b, size_t n, off_t o) {
  REAL("pwrite", p_t); return fd_fails(fd) ? -1 : real(fd, b, n, o); }
ssize_t pwrite64(int fd, const void *b, size_t n, off_t o) {
  REAL("pwrite64", p_t); return fd_fails(fd) ? -1 : real(fd, b, n, o); }
int fsync(int fd) { REAL("fsync", f_t); return fd_fails(fd) ? -1 : real(fd); }
int fdatasync(int fd) { REAL("fdatasync", f_t); return fd_fails(fd) ? -1 : real(fd); }
int rename(const char *a, const char *b) {
  REAL("rename", r_t); return in_place(b) && fails() ? -1 : real(a, b); }
int mkdir(const char *a, mode_t m) { REAL("mkdir", m_t); return in_place(a) && fails() ? -1 : real(a, m); }
#define OPEN(name) int name(const char *path, int flags, ...) { \
  va_list more; va_start(more, flags); mode_t mode = va_arg(more, mode_t); va_end(more); \
  REAL(#name, o_t); \
  if ((flags & O_CREAT) && in_place(path) && access(path, F_OK) && fails()) return -1; \
  return real(path, flags, mode); }
OPEN(open) OPEN(open64)
