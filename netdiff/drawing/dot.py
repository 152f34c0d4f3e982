from __future__ import annotations
import os
from netdiff.drawing.model import *
from netdiff.drawing.words import clip

MARKS = {  # stroke, width, style, fill
    "": ("#555555", 1.0, "solid", "#ffffff"),
    "missing": ("#b34700", 2.4, "dashed", "#ffffff"),
    "added": ("#004c8c", 3.0, "solid", "#dbe9f6"),
    "changed": ("#5b2a86", 2.4, "solid", "#efe6f7"),
    "unseen": ("#8a8a8a", 1.0, "dotted", "#ffffff"),
}
def esc(t):
    t=t.replace('&','&amp;').replace('\\','\\\\')
    return t
def rec(t):
    t=esc(t)
    for c in '{}|<>': t=t.replace(c,'\\'+c)
    return t.replace(' ','\\ ')
ENV=os.environ.get
def source(pic, view='both'):
    import graphviz
    g=graphviz.Graph('netdiff', engine='dot')
    g.attr('graph',rankdir=ENV('RANKDIR','LR'),splines=ENV('SPLINES','spline'),nodesep=ENV('NODESEP','0.12'),ranksep=ENV('RANKSEP','0.35'),fontname='Verdana',fontsize='11',compound='true',newrank=ENV('NEWRANK','false'),bgcolor='white',labelloc='t',label=rec(pic.title),concentrate='false',ordering='')
    g.attr('node',fontname='Verdana',fontsize='8',shape='box',margin='0.05,0.03',width='0.1',height='0.1',color='#555555')
    g.attr('edge',fontname='Verdana',fontsize='7.5',color='#555555')
    inline=ENV('INLINE','1')=='1'
    ids={n:f'p{i}' for i,n in enumerate(pic.boxes)}
    ids|={n:f'j{i}' for i,n in enumerate(pic.joints)}
    tags={}
    lines=[]
    extra=[]
    for l in pic.lines:
        if not l.a.item or not l.b.item: print('BAD',l); continue
        ja,jb=pic.joints.get(l.a.item),pic.joints.get(l.b.item)
        ends=[l.a,l.b]
        if inline and l.mark in('','unseen') and jb and jb.repeated and not l.text and l.a.terminal:
            tags.setdefault(l.a.item,{}).setdefault(l.a.terminal,[]).append('⊥' if jb.sort=='ground' else jb.text)
            continue
        for k,j in enumerate((ja,jb)):
            if j and j.repeated:
                nid=f'r{len(extra)}'; extra.append((nid,j,pic.boxes.get(ends[1-k].item)))
                ends[k]=End(nid)
        lines.append((ends,l))
    zones={}
    for n,b in pic.boxes.items(): zones.setdefault(b.zone,[]).append(('box',n))
    # joints zones
    jz={}
    for l in pic.lines:
        for e,o in((l.a,l.b),(l.b,l.a)):
            if e.item in pic.joints and o.item in pic.boxes: jz.setdefault(e.item,[]).append(pic.boxes[o.item].zone)
    for n,j in pic.joints.items():
        if j.repeated: continue
        z=jz.get(n,[])
        best=max(set(z),key=z.count) if z else ''
        if len(set(z))>1 and ENV('JOUT','0')=='1': best='-'
        zones.setdefault(best,[]).append(('joint',n))
    for nid,j,b in extra: zones.setdefault(b.zone if b else '',[]).append(('rep',(nid,j)))
    order={}
    for i,(n,b) in enumerate(pic.boxes.items()):
        for t in b.terminals: order[n,t]=i
    def put(s,kind,n):
        if kind=='box':
            b=pic.boxes[n]; c,w,st,fill=MARKS[b.mark]
            title=n+(' '.join(['']+[f'[{k}]' for k in b.numbers]))
            ls=[title]+list(b.seen or b.drawn)
            if b.mark=='changed' and b.drawn and b.seen!=b.drawn: ls.append('was '+b.drawn[0])
            ls+=[w_.upper() for w_ in b.words]
            head='\\n'.join(rec(x) for x in ls)
            def cell(i,t):
                tg=tags.get(n,{}).get(t)
                return f'<t{i}> '+rec(t+(' '+' '.join(tg) if tg else ''))
            cells=[cell(i,t) for i,t in enumerate(b.terminals)]
            if b.two_ended: lab='{'+cells[0]+'|'+head+'|'+cells[1]+'}'
            else: lab='|'.join([head]+cells)
            s.node(ids[n],label=graphviz.nohtml(lab),shape='record',style=f'filled,{st}' if st!='solid' else 'filled',fillcolor=fill,color=c,penwidth=str(w),fontcolor='black')
        elif kind=='joint':
            j=pic.joints[n]
            if j.sort=='dot': s.node(ids[n],label='',shape='point',width='0.06',color='#333333')
            else: s.node(ids[n],label=graphviz.nohtml('\\n'.join(esc(x) for x in j.text.split('\n'))),shape='plain' if j.sort=='open' else 'box',style='rounded',margin='0.03,0.01',fontsize='7.5')
        else:
            nid,j=n
            if j.sort=='ground': s.node(nid,label='—\\n–\\n-',shape='plain',fontsize='7')
            else: s.node(nid,label=graphviz.nohtml(esc(j.text)),shape='plain',fontsize='7.5')
    for z,items in zones.items():
        if z and z!='-':
            with g.subgraph(name=f'cluster_{z}') as s:
                s.attr(label=graphviz.nohtml(esc(pic.zones.get(z,z))),style='rounded',color='#999999',labeljust='l',fontsize='11',margin='10')
                for i in items: put(s,*i)
        else:
            for i in items: put(g,*i)
    for ends,l in lines:
        def e(x):
            if x.item in pic.boxes:
                i=pic.boxes[x.item].terminals.index(x.terminal); return f'{ids[x.item]}:t{i}'
            return ids.get(x.item,x.item)
        def od(x): return order.get((x.item,x.terminal),None)
        a,b=ends
        c,w,st,fill=MARKS[l.mark]
        lab=' '.join([f'[{k}]' for k in l.numbers]+list(l.words))
        txt='\\n'.join(esc(x) for x in (lab,l.text) if x)
        color=c
        if l.conductor in('coax','shielded'): color=f'{c}:white:{c}'
        # orient
        if b.terminal in('1','+','a') and l.a.terminal!='1' and pic.boxes.get(b.item) and pic.boxes[b.item].two_ended: pass
        elif pic.boxes.get(a.item) and pic.boxes[a.item].two_ended and pic.boxes[a.item].terminals[0]==a.terminal: a,b=b,a
        g.edge(e(a),e(b),label=graphviz.nohtml(txt) if txt else None,color=color,penwidth=str(w),style=st,weight='3' if not l.mark else '1')
    return g.source
