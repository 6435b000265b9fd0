#include "cli/render/schema.h"

#include "cli/commands/command_line/command.h"
#include "cli/commands/output.h"
#include "core/catalogue/catalogue.h"

namespace benchproof {

Command schema_command() {
  return {"schema", "print the JSON Schema of descriptions, for editors", {}, [] {
            return write_last(schema_json(built_in_catalogue()) + "\n", kExitGood);
          }};
}

}  // namespace benchproof
