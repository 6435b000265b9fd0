#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "cli/render/diagnose/diagnosis_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"

namespace benchproof {
namespace {

constexpr std::size_t kMostGroups = 5;
/// Groups below it are counted only.
constexpr double kWorthTelling = 1e-3;
constexpr std::size_t kMostCauses = 8;

std::string cause_words(const Diagnosis& diagnosis, const Cause& cause) {
  const std::vector<const Fault*> faults = faults_in(diagnosis, cause.suspect);
  if (faults.empty()) return "as meant: nothing that these readings show is wrong";
  std::string words;
  for (const Fault* fault : faults)
    words += (words.empty() ? "" : ", and ") + plain_text(fault->words);
  return words;
}

std::string cause_remedy(const Diagnosis& diagnosis, const Cause& cause) {
  std::string remedy;
  for (const Fault* fault : faults_in(diagnosis, cause.suspect))
    remedy += (remedy.empty() ? "" : "; ") + plain_text(fault->remedy);
  return remedy;
}

/// The group's causes as they are told: that nothing is wrong first, where that is one
/// of them, for then the readings show nothing yet.
std::vector<Cause> told_causes(const LikelyGroup& group) {
  std::vector<Cause> causes = group.causes;
  std::stable_partition(causes.begin(), causes.end(),
                        [](const Cause& cause) { return cause.suspect == Suspect{}; });
  return causes;
}

std::string misfits_text(const DiagnosisReport& report, const LikelyGroup& group) {
  std::string text;
  for (const std::size_t r : group.misfits) {
    const Question& question = report.readings[r].question;
    text += wrapped(fmt::format("the reading of {} ({}) would be misread or mistyped",
                                asked_words(question), condition_words(question)),
                    6, 8);
  }
  return text;
}

/// Which of a group's causes the witnesses were asked about.
std::string confirmed_words(const Diagnosis& diagnosis, const LikelyGroup& told,
                            const Suspect& asked) {
  if (told.causes.front().suspect == asked) return "the first";
  for (const Cause& cause : told.causes)
    if (cause.suspect == asked) return cause_words(diagnosis, cause);
  return "the first";
}

std::string group_text(const DiagnosisReport& report, std::size_t number, bool colour) {
  LikelyGroup group = report.diagnosis.groups[number];
  const Suspect confirmed = group.causes.front().suspect;
  group.causes = told_causes(group);
  // Of one fault and another one that does not show yet the first says enough.
  const bool is_single = group.causes.front().suspect.second < 0;
  const auto is_hidden = [](const Cause& cause) { return cause.suspect.second >= 0; };
  const bool may_hide =
      is_single && std::erase_if(group.causes, is_hidden) > 0 && number == 0;
  const std::size_t count = group.causes.size();
  std::string head = fmt::format("{}. {} %", number + 1, hundredths(group.probability));
  if (count > 1)
    head += fmt::format(", one of {} that these readings cannot part", count);
  if (group.confirmed)
    head += (*group.confirmed ? "; both witnesses confirm "
                              : "; the witnesses do not agree on ") +
            confirmed_words(report.diagnosis, group, confirmed);
  std::string text =
      inked(wrapped(head + ":", 2, 5), Ink::strong, colour && number == 0);
  for (std::size_t k = 0; k < std::min(count, kMostCauses); ++k) {
    const Cause& cause = group.causes[k];
    text += wrapped(fmt::format("{}", cause_words(report.diagnosis, cause)), 5, 7);
    const std::string remedy = cause_remedy(report.diagnosis, cause);
    const bool is_told =
        k > 0 && remedy == cause_remedy(report.diagnosis, group.causes[k - 1]);
    if (!remedy.empty() && !is_told) text += wrapped("-> " + remedy, 7, 10);
  }
  if (count > kMostCauses)
    text += fmt::format("     and {} more, less usual\n", count - kMostCauses);
  if (may_hide) text += wrapped("(a second fault beside it may not show yet)", 5, 7);
  return text + misfits_text(report, group);
}

std::string next_text(const DiagnosisReport& report, bool colour) {
  if (!report.diagnosis.next)
    return wrapped(
        "No further reading is worth its trouble: what stands in one group "
        "is told apart by mending and looking again.",
        0, 2);
  const NextReading& next = *report.diagnosis.next;
  std::string text = inked(
      wrapped(fmt::format("next reading: {}, {}{}", condition_words(next.question),
                          asked_words(next.question),
                          next.is_again ? " (once more: it fits nothing so far)" : ""),
              0, 2),
      Ink::strong, colour);
  for (const WouldShow& would : next.would_show)
    text += wrapped(fmt::format("group {} would show {}", would.group + 1,
                                would_show_text(next.question.asks, would)),
                    2, 4);
  return text;
}

/// What to do at once.
std::string dangers_text(const Diagnosis& diagnosis) {
  std::string text;
  for (const std::string& danger : diagnosis.dangers)
    text += wrapped("DANGER: " + plain_text(danger), 2, 4);
  return text;
}

}  // namespace

std::string diagnosis_so_far(const Diagnosis& diagnosis) {
  if (diagnosis.readings == 0) return "  nothing was read yet\n";
  std::string text = dangers_text(diagnosis);
  constexpr std::size_t kFew = 3;
  for (std::size_t g = 0; g < std::min(diagnosis.groups.size(), kFew); ++g) {
    const LikelyGroup& group = diagnosis.groups[g];
    const std::string share = hundredths(group.probability);
    const std::string words = cause_words(diagnosis, told_causes(group).front());
    const auto singles =
        std::count_if(group.causes.begin(), group.causes.end(),
                      [](const Cause& cause) { return cause.suspect.second < 0; });
    text += wrapped(singles > 1 ? fmt::format("{} % one of {}; the likeliest: {}",
                                              share, singles, words)
                                : fmt::format("{} % {}", share, words),
                    2, 6);
  }
  return text;
}

std::string diagnosis_text(const DiagnosisReport& report, bool colour) {
  const Diagnosis& diagnosis = report.diagnosis;
  std::string text = title_lines(report.file.circuit->title, colour);
  text += wrapped(fmt::format("{}: {}, meter '{}'", version_name(report.file),
                              counted(diagnosis.readings, "reading"),
                              plain_text(report.meter.name)),
                  0, 2);
  text += dangers_text(diagnosis);
  if (diagnosis.readings == 0)
    text +=
        wrapped("nothing was read yet: below stands how usual each mistake is", 2, 2);
  if (!diagnosis.explained)
    text += inked(
        wrapped("nothing that is looked for explains these readings, no single fault "
                "and no two: is each at its place, and is the circuit described as it "
                "was built? What comes nearest:",
                0, 2),
        Ink::caution, colour);
  else if (diagnosis.looked_at_pairs)
    text += wrapped(
        "no single fault explains every reading; two at once were looked "
        "at, too",
        0, 2);
  text += "\n";
  std::size_t told = 0;
  for (; told < std::min(diagnosis.groups.size(), kMostGroups); ++told) {
    if (told > 0 && diagnosis.groups[told].probability < kWorthTelling) break;
    text += group_text(report, told, colour);
  }
  if (told < diagnosis.groups.size())
    text += fmt::format("  and {} less probable\n",
                        counted(diagnosis.groups.size() - told, "group"));
  return text + "\n" + next_text(report, colour) + "\n" + measuring_cautions();
}

}  // namespace benchproof
