#include "workbook/page_scan.hpp"

#include <bit>
#include <optional>
#include <set>

namespace sw::store {
namespace {

constexpr std::uint64_t kLargestRow = 64 << 20;  // bytes, as Database allows
constexpr std::size_t kMostColumns = 100;

class Pages {
public:
    Pages(std::string_view bytes, std::size_t size) : bytes_(bytes), size_(size), usable_(size) {}  // a workbook reserves no bytes of a page

    /// As the head says; nothing if that cannot be.
    [[nodiscard]] static std::optional<std::size_t> told_size(std::string_view bytes) {
        const std::uint64_t told = Pages(bytes, 1).number(16, 2), size = told == 1 ? 65536 : told;
        if (size < 512 || size > 65536 || (size & (size - 1)) != 0) return std::nullopt;
        return size;
    }

    [[nodiscard]] std::size_t count() const { return (bytes_.size() + size_ - 1) / size_; }
    /// Big-endian; 0 beyond the end.
    [[nodiscard]] std::uint64_t number(std::size_t at, std::size_t length) const {
        if (at > bytes_.size() || bytes_.size() - at < length) return 0;
        std::uint64_t value = 0;
        for (std::size_t i = 0; i < length; ++i) value = value << 8U | static_cast<unsigned char>(bytes_[at + i]);
        return value;
    }

    /// Where the rows of a table's leaf begin; none of other pages.
    [[nodiscard]] std::vector<std::size_t> cells(std::size_t page) const {
        constexpr std::uint64_t kTableLeaf = 0x0D;
        const std::size_t start = page * size_, head = start + (page == 0 ? 100 : 0);
        std::vector<std::size_t> found;
        if (number(head, 1) != kTableLeaf) return found;
        const std::size_t rows = number(head + 3, 2);
        for (std::size_t i = 0; i < rows; ++i) {
            const std::size_t pointer = head + 8 + 2 * i;
            if (pointer + 2 > start + size_) break;
            const std::size_t offset = number(pointer, 2);
            if (offset >= 8 && offset < usable_) found.push_back(start + offset);
        }
        return found;
    }

    /// The row at this place, with what flows over onto other pages; nothing if not all of it is there.
    [[nodiscard]] std::optional<Scanned> row(std::size_t at) const {
        const std::size_t end = (at / size_) * size_ + usable_;
        const auto length = varint(at, end);
        const auto id = varint(at, end);
        if (!length || !id || *length > kLargestRow || *length > bytes_.size()) return std::nullopt;
        const std::size_t most = usable_ - 35, least = (usable_ - 12) * 32 / 255 - 23;
        std::size_t here = *length;
        if (here > most) {
            const std::size_t rest = least + (*length - least) % (usable_ - 4);
            here = rest <= most ? rest : least;
        }
        if (at + here > std::min(end, bytes_.size())) return std::nullopt;
        std::string payload(bytes_.substr(at, here));
        std::size_t next = here < *length ? number(at + here, 4) : 0;
        for (std::size_t pages = 0; payload.size() < *length; ++pages) {
            if (next == 0 || next > count() || pages > count()) return std::nullopt;
            const std::size_t start = (next - 1) * size_, take = std::min<std::size_t>(usable_ - 4, *length - payload.size());
            if (start + 4 + take > bytes_.size()) return std::nullopt;
            payload.append(bytes_.substr(start + 4, take));
            next = number(start, 4);
        }
        auto record = Pages(payload, 1).record();
        if (!record) return std::nullopt;
        return Scanned{static_cast<std::int64_t>(*id), *std::move(record)};
    }

private:
    /// 1 to 9 bytes, 7 bits of each, the ninth whole; moves `at` past it.
    std::optional<std::uint64_t> varint(std::size_t& at, std::size_t end) const {
        std::uint64_t value = 0;
        for (int i = 0; i < 9; ++i) {
            if (at >= std::min(end, bytes_.size())) return std::nullopt;
            const auto byte = static_cast<unsigned char>(bytes_[at++]);
            if (i == 8) return value << 8U | byte;
            value = value << 7U | (byte & 0x7FU);
            if ((byte & 0x80U) == 0) return value;
        }
        return value;
    }

    /// The bytes as a record: a head of types, then the values.
    [[nodiscard]] std::optional<Values> record() const {
        std::size_t at = 0;
        const auto head = varint(at, bytes_.size());
        if (!head || *head > bytes_.size()) return std::nullopt;
        std::size_t value_at = *head;
        Values values;
        while (at < *head) {
            const auto type = varint(at, *head);
            if (!type || values.size() == kMostColumns) return std::nullopt;
            constexpr std::size_t kLengths[] = {0, 1, 2, 3, 4, 6, 8, 8, 0, 0};
            if (*type == 10 || *type == 11) return std::nullopt;
            const std::uint64_t length = *type < 10 ? kLengths[*type] : (*type - 12) / 2;
            if (length > bytes_.size() - value_at) return std::nullopt;
            if (*type == 0) {
                values.emplace_back(std::monostate{});
            } else if (*type == 7) {
                values.emplace_back(std::bit_cast<double>(number(value_at, 8)));
            } else if (*type < 10) {
                std::uint64_t bits = *type == 9 ? 1 : number(value_at, length);
                if (length > 0 && length < 8 && (bits >> (8 * length - 1) & 1U) != 0) bits |= ~std::uint64_t{0} << (8 * length);  // negative
                values.emplace_back(std::bit_cast<std::int64_t>(bits));
            } else if (*type % 2 == 1) {
                values.emplace_back(std::string(bytes_.substr(value_at, length)));
            } else {
                values.emplace_back(Blob{std::string(bytes_.substr(value_at, length))});
            }
            value_at += length;
        }
        return values;
    }

    std::string_view bytes_;
    std::size_t size_ = 0, usable_ = 0;
};

}  // namespace

void scan_pages(std::string_view bytes, const std::function<void(Scanned)>& found) {
    constexpr std::size_t kUsual = 4096;  // of new workbooks; where the head says otherwise it may be damaged, so both are tried
    const std::size_t told = Pages::told_size(bytes).value_or(kUsual);
    for (const std::size_t size : std::set<std::size_t>{kUsual, told}) {
        const Pages pages(bytes, size);
        for (std::size_t page = 0; page < pages.count(); ++page) {
            for (const std::size_t at : pages.cells(page)) {
                if (std::optional<Scanned> row = pages.row(at)) found(*std::move(row));
            }
        }
    }
}

}  // namespace sw::store
