#include "tools/rig/state_text.hpp"

#include <cstdio>

#include "tools/rig/log_entry.hpp"
#include "tools/rig/plant.hpp"
#include "tools/rig/pump_order.hpp"

namespace standfast::rig {
namespace {

std::string number(const char* name, double value) {
  char text[64];
  std::snprintf(text, sizeof text, "\"%s\":%.4f", name, value);
  return text;
}

std::string jack_text(const Plant& plant, std::size_t j) {
  const Jack& jack = plant.rig().jacks[j];
  const std::size_t leg = plant.instruments().leg_of(JackId{j});
  const Site& site = plant.site();
  return "{\"name\":" + json_string(jack.name) + "," +
         number("shown_kN", load_shown(jack, site.pressure(leg), Direction::raise) / 1e3) + "," +
         number("kN", site.load(leg) / 1e3) + "," + number("bar", site.pressure(leg) / 1e5) + "," +
         number("travel_mm", site.travel(leg) * 1e3) + "}";
}

std::string outputs_text(const Plant& plant) {
  std::string out;
  if (!plant.rig().output_module) return out;
  for (const Output& output : plant.rig().output_module->outputs) {
    if (!out.empty()) out += ",";
    const bool on = plant.relays()->contact(output.kind).value_or(false);
    out += json_string(std::string{name_of(output.kind)}) + (on ? ":true" : ":false");
  }
  return out;
}

}  // namespace

std::string state_line(const Plant& plant) {
  const Site& site = plant.site();
  std::string jacks;
  for (std::size_t j = 0; j < plant.rig().jacks.size(); ++j) jacks += (j == 0 ? "" : ",") + jack_text(plant, j);
  return "{" + number("t_s", plant.elapsed().seconds()) + ",\"pump\":" +
         json_string(std::string{name_of(plant.pump().state())}) + "," + number("head_mm", site.head() * 1e3) + "," +
         number("column_kN", site.column_force() / 1e3) + "," + number("total_kN", site.total_load() / 1e3) +
         ",\"jacks\":[" + jacks + "],\"outputs\":{" + outputs_text(plant) + "}}";
}

}  // namespace standfast::rig
