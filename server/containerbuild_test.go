package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
)

var builds = flag.Bool("server.container", false, "build the container file, on bases made here")

// images is a store of container images that is nobody else's.
type images struct {
	t      *testing.T
	folder string
}

// buildah runs a command on the store and returns what it printed.
func (i *images) buildah(args ...string) string {
	i.t.Helper()
	args = append([]string{"--storage-driver", "vfs", "--root", filepath.Join(i.folder, "images"),
		"--runroot", filepath.Join(i.folder, "run")}, args...)
	return done(i.t, "", "buildah", args...)
}

// done runs a program to its end in a folder and returns what it printed.
func done(t *testing.T, folder, name string, args ...string) string {
	t.Helper()
	var out, errOut bytes.Buffer
	c := exec.Command(name, args...)
	c.Dir, c.Stdout, c.Stderr = folder, &out, &errOut
	if err := c.Run(); err != nil {
		t.Fatalf("%s %q: %v\n%s\n%s", name, args, err, out.String(), errOut.String())
	}
	return strings.TrimSpace(out.String())
}

// base makes an image out of Debian's packages of the release that the container file names. fill
// puts more into its root, and returns settings for whoever builds on it.
func (i *images) base(names []string, packages string, fill func(root string) []string) {
	i.t.Helper()
	made := i.buildah("from", "scratch")
	root := i.buildah("mount", made)
	done(i.t, "", "debootstrap", "--variant=minbase", "--include="+packages, "bookworm", root)
	for _, setting := range fill(root) {
		i.buildah("config", "--env", setting, made)
	}
	i.buildah("umount", made)
	i.buildah("commit", "--quiet", made, "localhost/"+names[0])
	i.buildah("rm", made)
	for _, name := range names[1:] {
		i.buildah("tag", "localhost/"+names[0], "localhost/"+name)
	}
}

// tools puts this machine's Go and Node into a root, and what they would fetch.
func tools(t *testing.T, root string) (settings []string) {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatal(err)
	}
	npm, err := exec.LookPath("npm")
	if err != nil {
		t.Fatal(err)
	}
	if npm, err = filepath.EvalSymlinks(npm); err != nil {
		t.Fatal(err)
	}
	app, cache := t.TempDir(), filepath.Join(root, "packages")
	for _, name := range []string{"package.json", "package-lock.json", ".npmrc"} {
		copyFile(t, filepath.Join("..", "pwa", name), filepath.Join(app, name))
	}
	done(t, app, "npm", "ci", "--omit=dev", "--ignore-scripts", "--silent", "--cache", cache)
	done(t, "..", "go", "mod", "download")
	modules := done(t, "", "go", "env", "GOMODCACHE")
	for _, copied := range [][2]string{
		{done(t, "", "go", "env", "GOROOT"), "usr/local/go"},
		{filepath.Join(modules, "cache", "download"), "modules"},
		{node, "usr/bin/node"},
		{filepath.Dir(filepath.Dir(npm)), "usr/lib/npm"},
	} {
		to := filepath.Join(root, copied[1])
		done(t, "", "cp", "--recursive", "--dereference", "--no-target-directory", copied[0], to)
	}
	err = os.Symlink("../lib/npm/bin/npm-cli.js", filepath.Join(root, "usr", "bin", "npm"))
	if err != nil {
		t.Fatal(err)
	}
	return []string{"PATH=/usr/local/go/bin:/usr/sbin:/usr/bin:/sbin:/bin",
		"GOPROXY=file:///modules", "GOSUMDB=off", // go.sum says what they must be
		"npm_config_cache=/packages", "npm_config_offline=true"}
}

// imageConfig is what the program that builds says of what it built.
type imageConfig struct {
	Env, Entrypoint, Cmd []string
	User                 string
	Volumes              map[string]struct{}
	Healthcheck          struct{ Test []string }
}

// TestContainer_Builds: a program that builds containers takes the container file, and what comes
// out runs with the settings, the user and the folder that stand in it, and is asked whether it is
// well as it says. The bases are stand-ins of the same names, for registries may be out of reach.
func TestContainer_Builds(t *testing.T) {
	if !*builds || os.Getuid() != 0 {
		t.Skip("scripts/test -long builds it, as root")
	}
	store := &images{t: t, folder: t.TempDir()}
	var bases []string
	for _, i := range containerLines(t) {
		if i.word == "FROM" {
			base, _, _ := strings.Cut(i.args, " ")
			bases = append(bases, base)
		}
	}
	store.base(bases[:2], "ca-certificates,gcc,libc6-dev,libstdc++6",
		func(root string) []string { return tools(t, root) })
	store.base(bases[2:], "libc6", func(string) []string { return nil })
	store.buildah("build", "--quiet", "--format", "docker", "--isolation", "chroot",
		"--pull-never", "--file", containerFile, "--tag", "localhost/evenhold", "..")
	var about struct{ Docker struct{ Config imageConfig } }
	text := store.buildah("inspect", "--type", "image", "localhost/evenhold")
	if err := json.Unmarshal([]byte(text), &about); err != nil {
		t.Fatal(err)
	}
	made := store.buildah("from", "localhost/evenhold")
	runImage(t, about.Docker.Config, store.buildah("mount", made))
	store.buildah("rm", made)
}

// runImage starts what an image says, in the root that it holds, and asks as it says.
func runImage(t *testing.T, about imageConfig, root string) {
	t.Helper()
	var uid, gid uint32
	if _, err := fmt.Sscanf(about.User, "%d:%d", &uid, &gid); err != nil || uid != nobody {
		t.Fatalf("the user is %q, %v", about.User, err)
	}
	if _, is := about.Volumes["/data"]; !is || len(about.Volumes) != 1 {
		t.Errorf("volumes: %v", about.Volumes)
	}
	inside := func(words ...string) *exec.Cmd {
		c := exec.Command(words[0], words[1:]...)
		c.Dir, c.Env = "/", append(slices.Clone(about.Env), "EVENHOLD_ADDR=127.0.0.1:0")
		c.SysProcAttr = &syscall.SysProcAttr{Chroot: root,
			Credential: &syscall.Credential{Uid: uid, Gid: gid}}
		return c
	}
	health := func() (int, string) {
		if len(about.Healthcheck.Test) < 2 || about.Healthcheck.Test[0] != "CMD" {
			t.Fatalf("it is asked %q", about.Healthcheck.Test)
		}
		c := inside(about.Healthcheck.Test[1:]...)
		text, err := c.CombinedOutput()
		if c.ProcessState == nil {
			t.Fatal(err)
		}
		return c.ProcessState.ExitCode(), string(text)
	}
	if code, text := health(); code != exitFaults {
		t.Errorf("before it runs: %d %s", code, text)
	}
	var said output
	running := inside(slices.Concat(about.Entrypoint, about.Cmd)...)
	running.Stdout, running.Stderr = &said, &said
	if err := running.Start(); err != nil {
		t.Fatal(err)
	}
	waitForAddress(t, filepath.Join(root, "data", addressName))
	if code, text := health(); code != exitOK {
		t.Errorf("while it runs: %d %s\n%s", code, text, said.String())
	}
	if err := running.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := running.Wait(); err != nil {
		t.Errorf("told to stop: %v\n%s", err, said.String())
	}
	if compilers, err := filepath.Glob(filepath.Join(root, "usr/local/go")); err != nil ||
		len(compilers) > 0 {
		t.Errorf("%q came along, %v", compilers, err)
	}
}
