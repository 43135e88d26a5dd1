/* nbdkit plugin: serves a file and fails as told.
 *   file=PATH          what is served
 *   faults=PATH        lines "bad FIRST COUNT", "slow FIRST COUNT MS", "flaky FIRST COUNT REFUSALS", "every MS" in 512-byte sectors
 *   log=PATH           one line "FIRST COUNT" for each read that brought bytes, appended (optional)
 */
#define NBDKIT_API_VERSION 2
#include <nbdkit-plugin.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define THREAD_MODEL NBDKIT_THREAD_MODEL_SERIALIZE_ALL_REQUESTS
struct fault { char kind; uint64_t first, count; int64_t value; };
static char *file, *faults, *logpath;
static struct fault *list;
static size_t n;
static int64_t every;
static int fd = -1, logfd = -1;

static int failing_config(const char *key, const char *value) {
  char **to = !strcmp(key, "file") ? &file : !strcmp(key, "faults") ? &faults : !strcmp(key, "log") ? &logpath : NULL;
  if (!to) { nbdkit_error("unknown key %s", key); return -1; }
  *to = nbdkit_absolute_path(value);
  return *to ? 0 : -1;
}

static int failing_get_ready(void) {
  fd = open(file, O_RDONLY);
  if (fd < 0) { nbdkit_error("%s: %m", file); return -1; }
  if (logpath && (logfd = open(logpath, O_WRONLY | O_CREAT | O_APPEND, 0644)) < 0) { nbdkit_error("%s: %m", logpath); return -1; }
  FILE *f = faults ? fopen(faults, "r") : NULL;
  char line[200], word[20];
  while (f && fgets(line, sizeof line, f)) {
    uint64_t a = 0, b = 0; int64_t c = 0;
    if (sscanf(line, "%19s %" SCNu64 " %" SCNu64 " %" SCNd64, word, &a, &b, &c) < 2) continue;
    if (!strcmp(word, "every")) { every = (int64_t)a; continue; }
    list = realloc(list, (n + 1) * sizeof *list);
    list[n++] = (struct fault){ word[0], a, b, c };
  }
  if (f) fclose(f);
  return 0;
}

static void *failing_open(int readonly) { (void)readonly; return NBDKIT_HANDLE_NOT_NEEDED; }
static int64_t failing_size(void *h) { struct stat s; (void)h; return fstat(fd, &s) ? -1 : s.st_size; }
static void wait_ms(int64_t ms) { struct timespec t = { ms / 1000, ms % 1000 * 1000000 }; nanosleep(&t, NULL); }

static int failing_pread(void *h, void *buf, uint32_t count, uint64_t offset, uint32_t flags) {
  (void)h; (void)flags;
  uint64_t a = offset / 512, b = (offset + count + 511) / 512;
  if (every) wait_ms(every);
  for (size_t i = 0; i < n; i++) {
    struct fault *f = &list[i];
    if (b <= f->first || f->first + f->count <= a) continue;
    if (f->kind == 's') wait_ms(f->value);
    if (f->kind == 'b' || (f->kind == 'f' && f->value-- > 0)) { nbdkit_set_error(EIO); nbdkit_error("refused"); return -1; }
  }
  while (count) {
    ssize_t r = pread(fd, buf, count, offset);
    if (r <= 0) { nbdkit_set_error(EIO); nbdkit_error("pread: %m"); return -1; }
    buf = (char *)buf + r; count -= r; offset += r;
  }
  if (logfd >= 0) { char line[64]; int l = snprintf(line, sizeof line, "%" PRIu64 " %" PRIu64 "\n", a, b - a); if (write(logfd, line, l) != l) return -1; }
  return 0;
}

static struct nbdkit_plugin plugin = {
  .name = "failing", .config = failing_config, .get_ready = failing_get_ready,
  .open = failing_open, .get_size = failing_size, .pread = failing_pread,
};
NBDKIT_REGISTER_PLUGIN(plugin)
