// The panel on a port: HTTP for the page's files, a WebSocket for each viewer. One thread; nobody waits for
// anybody.
//
//   Server ---- accepts ----> HttpConnection ---- /socket ----> Line (one viewer)
//                                                                |  ^
//                     Panel (no sockets) <---- Reception <-------'  `--- letters
//
// Whoever connects is a stranger: what they send is bounded in size, number and time, what they do not read
// is dropped for a whole state later, and what they hold open without using it is closed.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "tools/log/log.h"
#include "tools/panel/bounds.h"
#include "tools/panel/keep_workshop.h"
#include "tools/panel/keeper.h"
#include "tools/script/reader.h"

namespace boost::asio {
class io_context;
}

namespace drybus::tools {

class FrontDesk;
/// Makes what stands behind the port.
using MakeFrontDesk = std::function<std::unique_ptr<FrontDesk>(boost::asio::io_context&)>;

struct ServerOptions {
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;  ///< 0: any that is free
  std::string token = {};  ///< asked of whoever comes; empty: nobody is asked
  /// Where these are given somebody leads: by the first trainers come in, by the second onlookers, by `token` pupils.
  std::string trainer_key = {};
  std::string onlooker_token = {};
  bool each = false;          ///< a bench for each pupil
  Shelf shelf = {};           ///< what can be opened
  bool choosing = false;      ///< begins with the shelf
  std::string language = {};  ///< that the class speaks; empty: that of whoever opens the page first
  KeepOptions keep = {};
  std::optional<KeptBench> kept = {};        ///< the class's bench as a folder kept it
  std::optional<KeptClass> kept_class = {};  ///< and the rest
  Bounds bounds = {};
  Log log = {};
};

class Server {
 public:
  /// Opens the port. Throws Unusable where that cannot be had.
  Server(Task task, const ServerOptions& options);
  /// The same for another page than the bench's.
  Server(const MakeFrontDesk& make, const ServerOptions& options);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  [[nodiscard]] std::uint16_t port() const;

  /// Serves until SIGINT or SIGTERM comes, or somebody calls stop.
  void run();
  /// From any thread.
  void stop();

 private:
  class Port;
  std::unique_ptr<Port> open_;
};

}  // namespace drybus::tools
