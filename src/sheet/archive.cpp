#include "sheet/archive.hpp"

#include <archive.h>
#include <archive_entry.h>

#include <memory>

#include "color/free.hpp"

namespace sw {
namespace {

using Archive = std::unique_ptr<archive, Free<archive_write_free>>;
using Entry = std::unique_ptr<archive_entry, Free<archive_entry_free>>;

la_ssize_t gather(archive*, void* bytes, const void* data, std::size_t size) {
    static_cast<std::string*>(bytes)->append(static_cast<const char*>(data), size);
    return static_cast<la_ssize_t>(size);
}

bool add_file(archive* zip, const DrawnFile& file, std::time_t time) {
    const Entry entry(archive_entry_new());
    if (!entry) return false;
    archive_entry_set_pathname_utf8(entry.get(), file.name.c_str());
    archive_entry_set_size(entry.get(), static_cast<la_int64_t>(file.bytes.size()));
    archive_entry_set_filetype(entry.get(), AE_IFREG);
    archive_entry_set_perm(entry.get(), 0644);
    archive_entry_set_mtime(entry.get(), time, 0);
    return archive_write_header(zip, entry.get()) == ARCHIVE_OK &&
           archive_write_data(zip, file.bytes.data(), file.bytes.size()) == static_cast<la_ssize_t>(file.bytes.size());
}

}  // namespace

Result<std::string> zip_of(const std::vector<DrawnFile>& files, std::time_t time) {
    const Error failed{Fault::internal, "", "", "the zip could not be made", "please report it"};
    std::string bytes;
    const Archive zip(archive_write_new());
    if (!zip || archive_write_set_format_zip(zip.get()) != ARCHIVE_OK || archive_write_zip_set_compression_deflate(zip.get()) != ARCHIVE_OK ||
        archive_write_set_bytes_per_block(zip.get(), 0) != ARCHIVE_OK ||
        archive_write_open(zip.get(), &bytes, nullptr, gather, nullptr) != ARCHIVE_OK)
        return failed;
    for (const DrawnFile& file : files) {
        if (!add_file(zip.get(), file, time)) return failed;
    }
    if (archive_write_close(zip.get()) != ARCHIVE_OK) return failed;
    return bytes;
}

}  // namespace sw
