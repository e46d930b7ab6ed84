// A row's values one by one, and what one value may hold. Private to this folder.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "color/color.hpp"
#include "workbook/database.hpp"

namespace sw::store {

/// Takes values one after the other, out of the row; once a type is wrong, good() stays false.
class Taker {
public:
    Taker(Values& values, std::size_t expected) : values_(values), good_(values.size() == expected) {}
    bool good() const { return good_; }
    void take(std::string& text) { take_as(text); }
    void take(double& figure) { take_as(figure); }
    void take(std::int64_t& number) { take_as(number); }
    void take(Blob& blob) { take_as(blob); }
    template <class T>
    void take(std::optional<T>& value) {
        if (good_ && std::holds_alternative<std::monostate>(values_[next_])) {
            ++next_;
            value.reset();
        } else {
            take_as(value.emplace());
        }
    }

private:
    template <class T>
    void take_as(T& out) {
        T* value = good_ ? std::get_if<T>(&values_[next_]) : nullptr;
        if (value == nullptr) {
            good_ = false;
            return;
        }
        out = std::move(*value);
        ++next_;
    }
    Values& values_;  // must outlive this
    std::size_t next_ = 0;
    bool good_;
};

void append(Values& values, const std::optional<double>& figure);
void append(Values& values, const std::optional<std::int64_t>& number);

/// Columns with those of a color between: Lab, its white, the upper triangle of its covariance.
[[nodiscard]] std::vector<std::string> joined(std::vector<std::string> before, const std::vector<std::string>& after);
void append(Values& values, const Lab& lab, const Eigen::Matrix3d& covariance);
void take(Taker& taker, Lab& lab, Eigen::Matrix3d& covariance);
[[nodiscard]] std::optional<std::string> color_flaw(const Lab& lab, const Eigen::Matrix3d& covariance);
void tidy_color(Lab& lab, Eigen::Matrix3d& covariance);

/// What forbids storing it, in plain words. `what`: "the photo's hash".
[[nodiscard]] std::optional<std::string> name_flaw(const std::string& name);
/// File names may be any bytes but 0.
[[nodiscard]] std::optional<std::string> bytes_flaw(const std::string& text, std::string_view what);
[[nodiscard]] std::optional<std::string> text_flaw(const std::string& text, std::string_view what);
[[nodiscard]] std::optional<std::string> time_flaw(const std::string& created);

}  // namespace sw::store
