// What this machine is known by to a phone: a key, and a certificate for its private addresses.
//
// Two things are made once and kept: a little authority of this person's own, valid ten years, and the machine's key.
// The authority can vouch for private addresses alone (RFC 5280 name constraints, critical: no name, no public
// address), so that a phone which trusts it trusts it for nothing on the internet. The certificate is made anew under
// them when the addresses change or it nears its end (397 days). Keys are of the curve P-256.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "reason/fault.h"

namespace lathbook::phone {

struct Identity {
  std::string chain_pem;      ///< the certificate, then the authority's
  std::string key_pem;        ///< the machine's, not the authority's
  std::string authority_der;  ///< the authority's certificate, for a phone to install
  std::string fingerprint;    ///< SHA-256 of the certificate, as browsers show it: "AB:CD:…"
  std::string authority_fingerprint;
};

/// Reads it from a private folder, or makes what is missing. `now_s` is in seconds since 1970. Faults: files that
/// cannot be read, written or understood, or that others may read.
[[nodiscard]] reason::Result<Identity> identity_for(const std::filesystem::path& folder,
                                                    const std::vector<std::string>& addresses, std::int64_t now_s);

}  // namespace lathbook::phone
