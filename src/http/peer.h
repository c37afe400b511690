// Whose program is at the other end of a loopback connection.
//
// A browser sends a cookie to every port of its host: whoever serves pages on another port of this machine is sent ours
// with each request, and could use it. The kernel knows the user behind each socket, so what another user's program
// sends is not listened to. Programs of the same user can read the book's file itself; nothing here is against them.
#pragma once

namespace lathbook::http {

enum class Speaker {
  kOurs,     ///< a program of this user, or of root
  kOthers,   ///< of another user, or of nobody any more: who has left already cannot be told
  kNotTold,  ///< a connection from elsewhere, or a kernel that does not say: the cookie decides
};

/// Who holds the other end of a connected IPv4 socket, by the kernel's own table: sock_diag(7), else /proc/net/tcp.
[[nodiscard]] Speaker speaker_at(int socket);

}  // namespace lathbook::http
