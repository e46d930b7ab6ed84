// A small part of JSON Schema, enough for schema/*.json: type, enum, required, properties, items, minimum, maximum, minItems, maxItems,
// minLength, maxLength, and $ref to another file of the folder. A keyword it does not know is a violation, so that none is passed over.
#pragma once

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace sw::test {

inline nlohmann::json read_schema(const std::string& name) {
    std::ifstream file(std::string(SW_TESTS) + "/cli/schema/" + name);
    return nlohmann::json::parse(file);
}

inline bool has_type(const nlohmann::json& value, const std::string& type) {
    if (type == "object") return value.is_object();
    if (type == "array") return value.is_array();
    if (type == "string") return value.is_string();
    if (type == "boolean") return value.is_boolean();
    if (type == "null") return value.is_null();
    if (type == "integer") return value.is_number_integer();
    return type == "number" && value.is_number();
}

/// What is wrong with value, each with its place; empty if nothing.
inline void violations(const nlohmann::json& value, const nlohmann::json& schema, const std::string& place, std::vector<std::string>& found) {
    const auto wrong = [&](const std::string& what) { found.push_back(place + ": " + what); };
    for (const auto& [key, rule] : schema.items()) {
        if (key == "$ref") {
            violations(value, read_schema(rule.get<std::string>()), place, found);
        } else if (key == "type") {
            const auto types = rule.is_array() ? rule.get<std::vector<std::string>>() : std::vector<std::string>{rule.get<std::string>()};
            bool fits = false;
            for (const std::string& type : types) fits = fits || has_type(value, type);
            if (!fits) wrong("is " + value.dump() + ", not " + rule.dump());
        } else if (key == "enum") {
            bool fits = false;
            for (const auto& one : rule) fits = fits || one == value;
            if (!fits) wrong("is " + value.dump() + ", none of " + rule.dump());
        } else if (key == "required") {
            for (const auto& name : rule) {
                if (!value.contains(name.get<std::string>())) wrong("has no " + name.dump());
            }
        } else if (key == "properties") {
            for (const auto& [name, part] : rule.items()) {
                if (value.contains(name)) violations(value.at(name), part, place + "/" + name, found);
            }
        } else if (key == "items") {
            for (std::size_t i = 0; value.is_array() && i < value.size(); ++i) violations(value[i], rule, place + "/" + std::to_string(i), found);
        } else if (key == "minimum" || key == "maximum") {
            if (value.is_number() && (key == "minimum" ? value < rule : value > rule))
                wrong("is " + value.dump() + ", beyond the " + key + " " + rule.dump());
        } else if (key == "minItems" || key == "maxItems") {
            if (value.is_array() && (key == "minItems" ? value.size() < rule : value.size() > rule))
                wrong("has " + std::to_string(value.size()) + " items");
        } else if (key == "minLength" || key == "maxLength") {
            if (value.is_string() && (key == "minLength" ? value.get<std::string>().size() < rule : value.get<std::string>().size() > rule))
                wrong("has the wrong length: " + value.dump());
        } else {
            wrong("schema keyword " + key + " is not known");
        }
    }
}

/// The violations as lines; empty if the text is one JSON object that fits the schema.
inline std::string misfits(const std::string& text, const std::string& schema) {
    const auto value = nlohmann::json::parse(text, nullptr, false);
    if (value.is_discarded()) return "not one JSON value: " + text.substr(0, 200);
    std::vector<std::string> found;
    violations(value, read_schema(schema), "", found);
    std::string lines;
    for (const std::string& line : found) lines += line + "\n";
    return lines;
}

}  // namespace sw::test
