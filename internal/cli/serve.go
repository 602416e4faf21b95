package cli

import (
	"errors"
	"fmt"
	"hash/fnv"
	"net"
	"path/filepath"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/web"
)

type serveCmd struct {
	File    string   `arg:"" help:"Campaign file."`
	Listen  string   `placeholder:"127.0.0.1:0" help:"Address and port; port 0 takes a free one. When not given, this machine and a port that stays the same for the file while it is free."`
	Network bool     `help:"Allow an address that other machines reach. Whoever reaches it can read and decide: there is no sign-in."`
	Name    []string `help:"Further host name under which the pages are opened, with --network."`

	Source string `help:"Description of a live source: a YAML file. The page of the next drop then captures."`
	liveFlags
}

// Help is shown below the usage.
func (serveCmd) Help() string {
	return `Example: hardcatch serve trial.hardcatch

The first line printed is the address to open in a browser on this machine. It is the same each time for a file that stays where it is, unless another program has taken the port: bookmarks, and what was typed and not entered, are found again. The pages need no network. Ctrl-C ends.`
}

// Run answers until it is stopped.
func (c *serveCmd) Run(b *day.Bench, s *streams) (err error) {
	at := c.Listen
	if at == "" {
		at = usualAddress(c.File)
	}
	host, _, err := net.SplitHostPort(at)
	if err != nil {
		return fmt.Errorf("--listen %s: %w; write for example 127.0.0.1:8080", c.Listen, err)
	}
	if !loopback(host) && !c.Network {
		return fmt.Errorf("--listen %s: other machines could reach it, and whoever does can read and decide; say --network if that is meant", c.Listen)
	}
	if len(c.Name) > 0 && !c.Network {
		return errors.New("--name needs --network")
	}
	session, err := b.Open(s.ctx, c.File)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, session.Close()) }()
	srv, err := web.New(b.Access, session, web.Options{Names: c.Name, Log: func(text string) { fmt.Fprintln(s.err, "hardcatch:", text) }})
	if err != nil {
		return err
	}
	if c.Source != "" {
		live, failed := c.show(b, s, srv)
		if failed != nil {
			return failed
		}
		defer func() { err = errors.Join(err, live.Close()) }()
	}
	l, err := net.Listen("tcp", at)
	if err != nil && c.Listen == "" {
		l, err = net.Listen("tcp", "127.0.0.1:0")
	}
	if err != nil {
		return fmt.Errorf("--listen %s: %w; choose another port, or 0 for a free one", c.Listen, err)
	}
	if !loopback(host) {
		s.warn([]string{"other machines can reach this address; there is no sign-in and no encryption: use it only on a network that you trust"})
	}
	s.say("http://%s/", l.Addr())
	return srv.Serve(s.ctx, l)
}

// show opens the live source and shows it on the page of the next drop.
func (c *serveCmd) show(b *day.Bench, s *streams, srv *web.Server) (day.Live, error) {
	live, _, err := c.liveFlags.watch(b, s, c.File, c.Source)
	if err != nil {
		return nil, err
	}
	in := day.TakeInput{Filter: &c.Filter, By: c.By}
	in.Reader.Channel = c.Channel
	if err := srv.Watch(s.ctx, live, in); err != nil {
		return nil, errors.Join(err, live.Close())
	}
	return live, nil
}

// usualAddress is on this machine, with a port from the file's path: a browser keeps what belongs to an address, so
// that it is best found again at the same one. The ports from 20000 to 29999 are below those that systems give away.
func usualAddress(file string) string {
	if whole, err := filepath.Abs(file); err == nil {
		file = whole
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(file)) // a hash takes everything
	return net.JoinHostPort("127.0.0.1", strconv.Itoa(20000+int(h.Sum32()%10000)))
}

// loopback tells that only this machine reaches the host.
func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}
