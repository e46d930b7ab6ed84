// Saves targets, readings and set-ups without end and reports each on standard output once it is saved; tests/workbook/kill_test.cpp kills it.
// Usage: workbook_saver FILE FIRST_NUMBER [drops]
// Prints "start", then "target N", "reading N", "removed N" (every fourth target), "setup N", "part N" (part, photo and note in one transaction),
// "lamp N", "undone N" (every third lamp) as each call returns. With drops: a paint and a pot where there are none yet, then "drop N" without end, N
// drops each. Any error ends it with "error ...".
#include <cstdio>
#include <string>

#include "workbook/samples.hpp"

namespace {

void report(const std::string& line) {
    std::puts(line.c_str());
    std::fflush(stdout);
}

int fail(const sw::Error& error) {
    report("error " + sw::describe(error));
    return 1;
}

int add_drops(sw::Workbook& workbook, int number) {
    auto paint = workbook.paint(sw::sample_paint(0).name);
    if (!paint) paint = workbook.add(sw::sample_paint(0));
    if (!paint) return fail(paint.error());
    auto pot = workbook.pot(sw::sample_pot(0).name);
    if (!pot) pot = workbook.add(sw::sample_pot(0));
    if (!pot) return fail(pot.error());
    for (; number < 1'000'000; ++number) {
        sw::KeptAddition addition = sw::sample_addition(0, pot->id, paint->id);
        addition.amount = number;
        if (const auto added = workbook.add(addition); !added) return fail(added.error());
        report("drop " + std::to_string(number));
    }
    return 0;
}

}  // namespace

int main(int count, char** arguments) {
    const bool drops = count == 4 && std::string(arguments[3]) == "drops";
    if (count != 3 && !drops) return 2;
    report("start");
    sw::Result<sw::Workbook> workbook = sw::Workbook::open(arguments[1], true);
    if (!workbook) return fail(workbook.error());
    if (drops) return add_drops(*workbook, std::stoi(arguments[2]));
    for (int number = std::stoi(arguments[2]); number < 1'000'000; ++number) {
        const sw::Result<sw::Target> target = workbook->add(sw::sample_target(number));
        if (!target) return fail(target.error());
        report("target " + std::to_string(number));
        sw::KeptReading reading = sw::sample_reading(number);
        reading.target = target->id;
        if (const sw::Result<sw::KeptReading> kept = workbook->add(reading); !kept) return fail(kept.error());
        report("reading " + std::to_string(number));
        if (number % 4 == 3) {
            if (const sw::Result<sw::Done> removed = workbook->remove_target(target->id); !removed) return fail(removed.error());
            report("removed " + std::to_string(number));
        }
        if (const sw::Result<sw::KeptSetup> kept = workbook->add(sw::sample_setup(number)); !kept) return fail(kept.error());
        report("setup " + std::to_string(number));
        const sw::Result<sw::Done> part = workbook->together("part " + std::to_string(number), [&]() -> sw::Result<sw::Done> {
            const sw::Result<sw::Part> made = workbook->add(sw::sample_part(number));
            if (!made) return made.error();
            if (const auto photo = workbook->keep(sw::sample_photo(number)); !photo) return photo.error();
            if (const auto note = workbook->add(sw::sample_note(number, 0, made->id)); !note) return note.error();
            return sw::Done{};
        });
        if (!part) return fail(part.error());
        report("part " + std::to_string(number));
        if (const auto lamp = workbook->add(sw::sample_lamp(number)); !lamp) return fail(lamp.error());
        report("lamp " + std::to_string(number));
        if (number % 3 == 2) {
            if (const auto undone = workbook->undo(); !undone) return fail(undone.error());
            report("undone " + std::to_string(number));
        }
    }
    return 0;
}
