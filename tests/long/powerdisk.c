/* A disk of one file, through FUSE, that remembers every write and every flush in the order in which they came.
 *
 *   powerdisk IMAGE LOG MOUNTPOINT
 *
 * LOG is a row of records: one byte 'W' or 'F'; for 'W' also the offset (8 bytes) and the length (4 bytes), both
 * little-endian on the machines this is run on, and the bytes. What had reached the disk at any moment can be put
 * together from it: everything before the last 'F', and whatever part of the rest one likes.
 */
#define FUSE_USE_VERSION 31
#include <errno.h>
#include <fcntl.h>
#include <fuse3/fuse.h>
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int image, record;
static off_t length;
static pthread_mutex_t order = PTHREAD_MUTEX_INITIALIZER;

static void note(const void *bytes, size_t count) {
    if (write(record, bytes, count) != (ssize_t)count) {
        perror("log");
        abort();
    }
}

static int get_attr(const char *path, struct stat *st, struct fuse_file_info *fi) {
    (void)fi;
    memset(st, 0, sizeof *st);
    if (strcmp(path, "/") == 0) {
        st->st_mode = S_IFDIR | 0755;
        st->st_nlink = 2;
        return 0;
    }
    if (strcmp(path, "/disk") != 0) return -ENOENT;
    st->st_mode = S_IFREG | 0600;
    st->st_nlink = 1;
    st->st_size = length;
    return 0;
}

static int read_dir(const char *path, void *buf, fuse_fill_dir_t fill, off_t at, struct fuse_file_info *fi,
                    enum fuse_readdir_flags flags) {
    (void)path, (void)at, (void)fi, (void)flags;
    fill(buf, "disk", NULL, 0, 0);
    return 0;
}

static int open_disk(const char *path, struct fuse_file_info *fi) {
    (void)fi;
    return strcmp(path, "/disk") == 0 ? 0 : -ENOENT;
}

static int read_disk(const char *path, char *buf, size_t count, off_t at, struct fuse_file_info *fi) {
    (void)path, (void)fi;
    ssize_t got = pread(image, buf, count, at);
    return got < 0 ? -errno : (int)got;
}

static int write_disk(const char *path, const char *buf, size_t count, off_t at, struct fuse_file_info *fi) {
    (void)path, (void)fi;
    uint64_t offset = (uint64_t)at;
    uint32_t size = (uint32_t)count;
    pthread_mutex_lock(&order);
    note("W", 1);
    note(&offset, sizeof offset);
    note(&size, sizeof size);
    note(buf, count);
    ssize_t put = pwrite(image, buf, count, at);
    pthread_mutex_unlock(&order);
    return put < 0 ? -errno : (int)put;
}

static int flush_disk(const char *path, int data_only, struct fuse_file_info *fi) {
    (void)path, (void)data_only, (void)fi;
    pthread_mutex_lock(&order);
    note("F", 1);
    pthread_mutex_unlock(&order);
    return 0;
}

static const struct fuse_operations operations = {
    .getattr = get_attr,
    .readdir = read_dir,
    .open = open_disk,
    .read = read_disk,
    .write = write_disk,
    .fsync = flush_disk,
};

int main(int argc, char **argv) {
    if (argc != 4) return fputs("powerdisk IMAGE LOG MOUNTPOINT\n", stderr), 2;
    image = open(argv[1], O_RDWR);
    record = open(argv[2], O_CREAT | O_TRUNC | O_WRONLY | O_APPEND, 0600);
    struct stat st;
    if (image < 0 || record < 0 || fstat(image, &st) < 0) return perror("powerdisk"), 1;
    length = st.st_size;
    char *fuse_argv[] = {argv[0], argv[3], "-f", NULL};
    return fuse_main(3, fuse_argv, &operations, NULL);
}
