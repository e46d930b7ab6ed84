#include "workbook/image.hpp"

#include <bit>
#include <cstring>

namespace sw::store {
namespace {

// The type as a byte, then 8 bytes, low byte first; of text and bytes the length, then they themselves.
void pack(std::string& out, const Value& value) {
    const auto number = [&](std::uint64_t bits) {
        for (int shift = 0; shift < 64; shift += 8) out += static_cast<char>(static_cast<unsigned char>(bits >> shift));
    };
    out += static_cast<char>(value.index());
    if (const auto* integer = std::get_if<std::int64_t>(&value)) number(static_cast<std::uint64_t>(*integer));
    if (const auto* real = std::get_if<double>(&value)) number(std::bit_cast<std::uint64_t>(*real));
    const auto* text = std::get_if<std::string>(&value);
    const auto* blob = std::get_if<Blob>(&value);
    if (text == nullptr && blob == nullptr) return;
    const std::string& bytes = text != nullptr ? *text : blob->bytes;
    number(bytes.size());
    out += bytes;
}

void pack(std::string& out, const std::optional<std::int64_t>& number) {
    if (number) {
        pack(out, Value(*number));
    } else {
        out += '\0';
    }
}

class Unpacker {
public:
    explicit Unpacker(const std::string& bytes) : bytes_(bytes) {}
    [[nodiscard]] bool done() const { return at_ == bytes_.size(); }
    std::optional<Value> next() {
        if (at_ >= bytes_.size()) return std::nullopt;
        switch (bytes_[at_++]) {
            case 0:
                return Value();
            case 1: {
                const auto bits = number();
                return bits ? std::optional<Value>(std::bit_cast<std::int64_t>(*bits)) : std::nullopt;
            }
            case 2: {
                const auto bits = number();
                return bits ? std::optional<Value>(std::bit_cast<double>(*bits)) : std::nullopt;
            }
            case 3: {
                auto text = counted();
                return text ? std::optional<Value>(*std::move(text)) : std::nullopt;
            }
            case 4: {
                auto blob = counted();
                return blob ? std::optional<Value>(Blob{*std::move(blob)}) : std::nullopt;
            }
            default:
                return std::nullopt;
        }
    }
    template <class T>
    std::optional<T> next_as() {
        std::optional<Value> value = next();
        if (!value || !std::holds_alternative<T>(*value)) return std::nullopt;
        return std::get<T>(*std::move(value));
    }

private:
    std::optional<std::uint64_t> number() {
        if (bytes_.size() - at_ < 8) return std::nullopt;
        std::uint64_t bits = 0;
        for (int shift = 0; shift < 64; shift += 8) bits |= std::uint64_t{static_cast<unsigned char>(bytes_[at_++])} << shift;
        return bits;
    }
    std::optional<std::string> counted() {
        const auto size = number();
        if (!size || *size > bytes_.size() - at_) return std::nullopt;
        std::string text = bytes_.substr(at_, *size);
        at_ += *size;
        return text;
    }
    const std::string& bytes_;
    std::size_t at_ = 0;
};

std::optional<std::optional<std::int64_t>> number_or_null(Unpacker& unpacker) {
    const std::optional<Value> value = unpacker.next();
    if (!value) return std::nullopt;
    if (std::holds_alternative<std::monostate>(*value)) return std::optional<std::int64_t>();
    if (const auto* number = std::get_if<std::int64_t>(&*value)) return std::optional(*number);
    return std::nullopt;
}

std::optional<Touched> one_touched(Unpacker& unpacker) {
    constexpr std::int64_t kMostColumns = 100;
    auto table = unpacker.next_as<std::string>();
    const auto id = unpacker.next_as<std::int64_t>();
    const auto now = number_or_null(unpacker);
    const auto sum = number_or_null(unpacker);
    if (!table || !id || !now || !sum) return std::nullopt;
    Touched touched{*std::move(table), *id, *now, {}};
    if (!*sum) return touched;
    const auto count = unpacker.next_as<std::int64_t>();
    if (!count || *count < 0 || *count > kMostColumns) return std::nullopt;
    Row row{*id, **sum, {}};
    for (std::int64_t i = 0; i < *count; ++i) {
        std::optional<Value> value = unpacker.next();
        if (!value) return std::nullopt;
        row.values.push_back(*std::move(value));
    }
    touched.other = std::move(row);
    return touched;
}

}  // namespace

Blob to_image(const std::vector<Touched>& rows) {
    Blob image;
    for (const Touched& row : rows) {
        pack(image.bytes, Value(row.table));
        pack(image.bytes, Value(row.id));
        pack(image.bytes, row.now);
        pack(image.bytes, row.other ? std::optional(row.other->sum) : std::nullopt);
        if (!row.other) continue;
        pack(image.bytes, Value(static_cast<std::int64_t>(row.other->values.size())));
        for (const Value& value : row.other->values) pack(image.bytes, value);
    }
    return image;
}

std::optional<std::vector<Touched>> touched_of(const Blob& image) {
    std::vector<Touched> rows;
    Unpacker unpacker(image.bytes);
    while (!unpacker.done()) {
        std::optional<Touched> row = one_touched(unpacker);
        if (!row) return std::nullopt;
        rows.push_back(*std::move(row));
    }
    return rows;
}

}  // namespace sw::store
