package pgtest

import (
	"io"
	"net"
	"sync"
	"testing"
	"time"
)

// Proxy passes TCP connections on to a server and loses them when told to. It knows
// nothing of what passes.
type Proxy struct {
	listen net.Listener
	work   sync.WaitGroup

	mu     sync.Mutex
	to     string
	links  map[*link]bool
	passed int64         // bytes from clients, all connections together
	left   int64         // of them until the cut; below 0: none is planned
	gate   chan struct{} // closed while bytes pass
	open   bool          // whether gate is closed
	closed bool
}

// link is one connection and its continuation to the server.
type link struct {
	client, server *net.TCPConn
	cut            chan struct{} // closed when it is cut
	once           sync.Once
}

// NewProxy starts a proxy before the server at an address, as host:port, and takes it away
// at the end of the test.
func NewProxy(t testing.TB, addr string) *Proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatalf("a proxy for the test: %v", err)
	}
	p := &Proxy{listen: l, to: addr, links: map[*link]bool{}, left: -1, gate: make(chan struct{}), open: true}
	close(p.gate)
	p.work.Go(p.accept)
	t.Cleanup(func() {
		p.mu.Lock()
		p.closed = true
		p.mu.Unlock()
		_ = l.Close() // accept ends by it
		p.Cut()
		p.work.Wait()
	})
	return p
}

// Addr is where the proxy listens, as host:port.
func (p *Proxy) Addr() string { return p.listen.Addr().String() }

// URL is how to connect to a database of the server through the proxy.
func (p *Proxy) URL(db string) string { return connectURL(p.Addr(), db) }

// Point sends new connections to another server, as a host name does that moves with the
// service. Those that are open stay where they are.
func (p *Proxy) Point(addr string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.to = addr
}

// Cut breaks all open connections off, as a machine does that restarts: both sides get a
// reset, and what was on its way is lost. New connections pass.
func (p *Proxy) Cut() {
	p.mu.Lock()
	links := p.links
	p.links = map[*link]bool{}
	p.left = -1
	p.mu.Unlock()
	for l := range links {
		l.close(true)
	}
}

// CutAfter plans one cut: when n more bytes have come from clients, counted over all
// connections, exactly these reach the server, all connections end, and the clients get
// no answer any more. With the bytes of [Proxy.Passed] a test finds the middle of a
// transaction, or the moment when its commit is asked for and not yet acknowledged. Of
// n = 0 the next byte is lost already. What had been planned before is forgotten.
func (p *Proxy) CutAfter(n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.left = int64(max(n, 0))
}

// Passed is how many bytes clients have sent to the server so far, those on new connections
// included: a driver may ask on one to cancel what it lost.
func (p *Proxy) Passed() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return int(p.passed)
}

// Stall holds all bytes back, in both directions, as a network does that loses packets:
// connections stay, and new ones are taken but get no answer.
func (p *Proxy) Stall() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.open {
		p.gate, p.open = make(chan struct{}), false
	}
}

// Resume lets pass what [Proxy.Stall] held back.
func (p *Proxy) Resume() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.open {
		close(p.gate)
		p.open = true
	}
}

func (p *Proxy) accept() {
	for {
		c, err := p.listen.Accept()
		if err != nil {
			return // the listener is closed
		}
		p.work.Go(func() { p.connect(c.(*net.TCPConn)) })
	}
}

// connect carries a connection on to the server. Where nobody listens there, the client
// finds it closed.
func (p *Proxy) connect(client *net.TCPConn) {
	p.mu.Lock()
	to := p.to
	p.mu.Unlock()
	c, err := net.DialTimeout("tcp", to, patience)
	if err != nil {
		_ = client.Close()
		return
	}
	l := &link{client: client, server: c.(*net.TCPConn), cut: make(chan struct{})}
	p.mu.Lock()
	if p.closed {
		p.mu.Unlock()
		l.close(true)
		return
	}
	p.links[l] = true
	p.mu.Unlock()
	p.work.Go(func() { p.pump(l, l.client, l.server, true) })
	p.pump(l, l.server, l.client, false)
}

// pump passes bytes in one direction until either side ends or the link is cut.
func (p *Proxy) pump(l *link, from io.Reader, to io.Writer, fromClient bool) {
	defer p.drop(l)
	buf := make([]byte, 32<<10)
	for {
		n, err := from.Read(buf)
		if n > 0 && !p.pass(l, to, buf[:n], fromClient) {
			return
		}
		if err != nil {
			return
		}
	}
}

// pass hands a piece on when the gate is open; it reports false when that was the last.
func (p *Proxy) pass(l *link, to io.Writer, piece []byte, fromClient bool) bool {
	for {
		p.mu.Lock()
		gate, open := p.gate, p.open
		if open {
			break
		}
		p.mu.Unlock()
		select {
		case <-gate:
		case <-l.cut:
			return false
		}
	}
	last := fromClient && p.left >= 0 && int64(len(piece)) >= p.left
	if last {
		piece = piece[:p.left]
	}
	var others map[*link]bool
	if fromClient {
		p.passed += int64(len(piece))
		switch {
		case last:
			others, p.links, p.left = p.links, map[*link]bool{}, -1
			delete(others, l)
		case p.left >= 0:
			p.left -= int64(len(piece))
		}
	}
	p.mu.Unlock()
	if !last {
		_, err := to.Write(piece)
		return err == nil
	}
	for other := range others {
		other.close(true)
	}
	l.lose(piece)
	return false
}

// drop forgets a link that has ended by itself.
func (p *Proxy) drop(l *link) {
	p.mu.Lock()
	delete(p.links, l)
	p.mu.Unlock()
	l.close(false)
}

// close ends both connections, with a reset where the link is cut.
func (l *link) close(reset bool) {
	l.once.Do(func() {
		close(l.cut)
		for _, c := range []*net.TCPConn{l.client, l.server} {
			if reset {
				_ = c.SetLinger(0) // a connection that is gone needs no reset
			}
			_ = c.Close()
		}
	})
}

// lose cuts the client off, and only then gives the server its last bytes, so that no
// answer to them comes back. The server finds an ordinary end of its input behind them:
// a reset might overtake them.
func (l *link) lose(last []byte) {
	l.once.Do(func() {
		close(l.cut)
		_ = l.client.SetLinger(0)
		_ = l.client.Close()
		_, _ = l.server.Write(last)
		_ = l.server.CloseWrite()
		_ = l.server.SetReadDeadline(time.Now().Add(linger))
		_, _ = io.Copy(io.Discard, l.server)
		_ = l.server.Close()
	})
}

// linger is how long a server that lost its client may go on before its connection is
// closed altogether.
const linger = 5 * time.Second
